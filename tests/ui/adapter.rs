//! One picture of an invented state: what is in it, and where.

use bevy::asset::RenderAssetUsages;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
use bevy::math::{Vec2, Vec3};

use knotwright::app::camera::{Orbit, View};
use knotwright::app::frame::to_scene;
use knotwright::app::view::FIELD_OF_VIEW;
use knotwright::app::{Stage, screenshot};
use knotwright::math::DVec3;

use super::child::drawn;
use super::fake::{Fake, PALE_AT, scenario, score};

/// Tells the child where to draw to, and with or without marks.
const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_TO";
const WITH_MARKS: &str = "KNOTWRIGHT_TEST_WITH_MARKS";

const SIZE: (u32, u32) = (960, 600);

#[test]
fn the_picture_shows_thread_pale_gum_and_pink_gum_and_nothing_black() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        let score = std::env::var(WITH_MARKS).is_ok().then(score);
        let picture = knotwright::app::Picture::of(&Fake::new().snapshot(), &scenario(), score.as_ref(), SIZE);
        screenshot(&picture, path.as_ref()).expect("the picture is drawn");
        return;
    }
    let path = std::env::temp_dir().join(format!("knotwright-picture-{}.png", std::process::id()));
    let test = "ui::adapter::the_picture_shows_thread_pale_gum_and_pink_gum_and_nothing_black";
    let Some(bytes) = drawn(test, DRAW_TO, &path) else { return };
    std::fs::remove_file(&path).expect("the picture can be removed");
    check(&decode(&bytes));
}

#[test]
fn the_doctor_says_what_a_frame_costs_here_and_needs_no_display_for_it() {
    if knotwright::app::adapters().is_empty() {
        // The picture above says so loudly.
        return;
    }
    let doctor = std::process::Command::new(env!("CARGO_BIN_EXE_knotwright"))
        .args(["doctor", "--frames", "5", "--size", "64x48"])
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .expect("the program starts");
    let out = String::from_utf8_lossy(&doctor.stdout).into_owned();
    assert!(doctor.status.success() && out.contains("64x48 drawn by"), "{out}");
    assert!(out.contains("first picture after") && out.contains("5 frames of the first demonstration"), "{out}");
    let line = out.lines().find(|line| line.contains("median")).unwrap_or_else(|| panic!("no times in\n{out}"));
    let words = line.split_whitespace().filter(|word| word.contains('.'));
    let times: Vec<f64> = words.filter_map(|word| word.parse().ok()).collect();
    assert!(times.len() == 4 && times[0] > 0.0 && times.is_sorted(), "{line}");
}

/// Rows of RGB.
pub(super) struct Picture {
    width: usize,
    pixels: Vec<[u8; 3]>,
}

impl Picture {
    /// How much redder than green the picture is about a point [mm], as a share of the red.
    fn redness(&self, point: DVec3) -> f32 {
        let [column, row] = seen(point);
        let near = (row - 2..=row + 2).flat_map(|row| (column - 2..=column + 2).map(move |column| (row, column)));
        let sum = near.fold(Vec3::ZERO, |sum, (row, column)| {
            sum + Vec3::from_array(self.pixels[row * self.width + column].map(f32::from))
        });
        (sum.x - sum.y) / sum.x
    }

    /// Share of the pixels of a window, in shares of the size, that are as wanted.
    pub(super) fn share(&self, window: [f64; 4], wanted: impl Fn([u8; 3]) -> bool) -> f64 {
        let height = self.pixels.len() / self.width;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "shares of a small picture")]
        let pixel = |share: f64, size: usize| (share * size as f64) as usize;
        let (mut count, mut all) = (0, 0);
        for row in pixel(window[1], height)..pixel(window[3], height) {
            for column in pixel(window[0], self.width)..pixel(window[2], self.width) {
                all += 1;
                count += usize::from(wanted(self.pixels[row * self.width + column]));
            }
        }
        f64::from(u32::try_from(count).expect("few")) / f64::from(u32::try_from(all).expect("few"))
    }
}

/// Column and row at which a point [mm] is seen.
fn seen(point: DVec3) -> [usize; 2] {
    let eye = Orbit::of(View::Operator).transform();
    let local = eye.rotation.inverse() * (to_scene(point) - eye.translation);
    let half = Vec2::new(SIZE.0 as f32, SIZE.1 as f32) / 2.0;
    let scale = half.y / (0.5 * FIELD_OF_VIEW).tan() / -local.z;
    let at = half + Vec2::new(local.x, -local.y) * scale;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the picture")]
    [at.x, at.y].map(|pixel| pixel.round() as usize)
}

pub(super) fn decode(bytes: &[u8]) -> Picture {
    let image = Image::from_buffer(
        bytes,
        ImageType::Extension("png"),
        CompressedImageFormats::NONE,
        true,
        ImageSampler::Default,
        RenderAssetUsages::MAIN_WORLD,
    )
    .expect("the picture is a PNG");
    assert_eq!((image.width(), image.height()), SIZE);
    let rgb = image.try_into_dynamic().expect("it has colours").to_rgb8();
    let pixels = rgb.pixels().map(|pixel| pixel.0).collect();
    Picture { width: rgb.width() as usize, pixels }
}

/// The middle of the picture, free of panels; the field fills it.
const FIELD: [f64; 4] = [0.30, 0.20, 0.70, 0.80];

fn check(picture: &Picture) {
    // Bounds are half or less of what was seen on a software adapter; drivers differ in the last bits only.
    let black = picture.share(FIELD, |[r, g, b]| r.max(g).max(b) < 6);
    assert!(black < 0.02, "{black} of the field is black: something is not lit, or not drawn");
    let pink = picture.share(FIELD, |[r, g, b]| r > 110 && f32::from(r) > 1.45 * f32::from(g) && b > 30);
    assert!(pink > 0.08, "only {pink} of the field is pink");
    // The pale patch shows beside the knot; sound gum of the same flap shows behind it.
    let pale = picture.redness(PALE_AT + DVec3::new(-1.0, 1.0, 0.2));
    let sound = picture.redness(PALE_AT + DVec3::new(-3.2, 3.6, 0.0));
    assert!(pale < 0.6 * sound, "pale gum is red by {pale}, sound gum by {sound}");
    let thread = picture.share(FIELD, |[r, g, b]| r.max(g).max(b) < 75 && r > b);
    assert!(thread > 0.0015, "only {thread} of the field is as dark as the thread");
}
