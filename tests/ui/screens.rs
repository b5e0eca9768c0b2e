//! Every screen at three sizes and both presets, beside what it looked like when somebody last looked at it.
//!
//! What is compared are sheets of small pictures, one sheet for a size and a preset, in `tests/ui/screens`. With
//! `KNOTWRIGHT_KEEP_SCREENS=FOLDER` the sheets go there, the whole pictures beside them, and nothing is compared: look at them, and
//! copy the sheets over the old ones if all is as it should be. The middle size speaks German, the largest is for the left hand.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use bevy::asset::RenderAssetUsages;
use bevy::image::{CompressedImageFormats, Image, ImageSampler, ImageType};
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};

use knotwright::app::ui::{KnotView, Model, Player, ReplayView, SiteView, Tab, TouchView};
use knotwright::app::words::Language;
use knotwright::app::{Measured, Picture, Preset, Scene, Stage, screenshots};
use knotwright::input::bindings::{Bindings, Hand};
use knotwright::score::{Past, Rubric, Score, score};
use knotwright::simulation::snapshot::Readout;

use super::child::drawn;
use super::fake::{Fake, scenario};
use super::panels::pulled_view;
use super::words::form;
use crate::scoring::{faultless, order, pages};
use crate::slow;

/// Tells the child where to draw its sheet to; the sheet's name says what is drawn.
const DRAW_TO: &str = "KNOTWRIGHT_TEST_DRAW_SCREENS_TO";
const KEEP: &str = "KNOTWRIGHT_KEEP_SCREENS";
const TEST: &str = "ui::screens::every_screen_looks_as_it_did_when_it_was_last_looked_at";

/// Sizes of the window [pixel]: the low preset's own, a laptop's, a common screen's.
const SIZES: [(u32, u32); 3] = [(960, 600), (1280, 800), (1920, 1080)];
const PRESETS: [(&str, Preset); 2] = [("low", Preset::Low), ("normal", Preset::Normal)];

/// Width of a small picture [pixel], and how many there are side by side.
const SMALL: u32 = 240;
const ABREAST: u32 = 4;

/// Shades of a sheet are rounded down to multiples of this: it packs to less than half and loses nothing that is compared.
const COARSE: u8 = 16;
/// A point of a small picture is another one if a colour differs by more than this, of 255: three shades of a sheet; estimate, so
/// that another version of a driver may draw letters a little differently. One driver draws the same bits each time.
const ANOTHER: u8 = 48;
/// The largest share of a small picture's points that may be others: half of what a cue's line makes that is gone.
const OTHERS_MAX: f64 = 0.005;

/// What is drawn on one sheet.
#[derive(Clone, Copy)]
struct Sheet {
    size: (u32, u32),
    preset: Preset,
    bench: bool,
}

impl Sheet {
    /// All of them by their names.
    fn all() -> Vec<(String, Sheet)> {
        let scenes = [("", false), ("-bench", true)];
        let sheet = |(width, height), (preset_name, preset), (scene, bench)| {
            (format!("{preset_name}-{width}x{height}{scene}"), Sheet { size: (width, height), preset, bench })
        };
        let of_size = |size| PRESETS.map(|preset| scenes.map(|scene| sheet(size, preset, scene)));
        SIZES.iter().flat_map(|size| of_size(*size).into_iter().flatten()).collect()
    }

    fn language(self) -> Language {
        if self.size == SIZES[1] { Language::German } else { Language::English }
    }

    fn hand(self) -> Hand {
        if self.size == SIZES[2] { Hand::Left } else { Hand::Right }
    }

    /// Height of its small pictures [pixel].
    fn small_height(self) -> u32 {
        SMALL * self.size.1 / self.size.0
    }

    /// The screens on it by their names, in the order in which they are drawn.
    fn screens(self) -> Vec<(&'static str, Model)> {
        let plain = Model {
            title: scenario().title,
            case_text: scenario().case_text,
            readout: Fake::new().snapshot().readout,
            seconds: 48.2,
            mirrored: self.hand() == Hand::Left,
            keys: Arc::new(Bindings::of(self.hand())),
            can_edit: true,
            can_begin_anew: true,
            ..Model::default()
        };
        if self.bench {
            let knot = Some(KnotView { lines: vec!["Stitch 1: 2=1=1, flat, clear".to_owned()] });
            return vec![("bench", Model { knot, pull: Some(pulled_view()), ..plain })];
        }
        let ordered = scenario().site.lost_tooth();
        let site = |open| Some(SiteView { ordered, chosen: Some(ordered), open });
        let hands = Model { player: Player::Right, site: site(false), ..plain.clone() };
        let marked = Model { score: Some(marks()), show_debrief: true, ..plain.clone() };
        let measured = |tab| Model { measured: Some(Arc::new(found())), tab, ..marked.clone() };
        let problems = "mine.ron:12:9: thread.size: found `9-0`, allowed 2-0 to 6-0".to_owned();
        let file_problems = Some(("mine.ron".to_owned(), problems));
        let replay = ReplayView { open: true, end: 9, have: 5, at: 3, ..ReplayView::default() };
        // Those with hands stand together: the field is drawn anew for others.
        vec![
            ("script", Model { show_help: true, ..plain.clone() }),
            ("marks", measured(Tab::Marks)),
            ("measured", measured(Tab::Measured)),
            ("pull", Model { pull: Some(pulled_view()), ..measured(Tab::Pull) }),
            ("progress", measured(Tab::Progress)),
            ("replay", Model { replay, ..marked }),
            ("form", Model { form: Some(form().view().clone()), ..plain.clone() }),
            ("offer", Model { offer: "An attempt of yesterday was broken off.".to_owned(), ..plain.clone() }),
            ("file", Model { file_problems, cue: "Throws read: 2=1".to_owned(), ..plain }),
            ("hands", hands.clone()),
            ("site", Model { site: site(true), readout: Readout::default(), ..hands.clone() }),
            ("task", Model { lesson: Some(Some(3)), ..hands.clone() }),
            ("fingers", Model { touch: Some(TouchView { height: 9.0, ..TouchView::default() }), ..hands.clone() }),
            ("other hand", Model { player: Player::Left, refusal: "The jaws hold nothing.".to_owned(), ..hands }),
        ]
    }

    /// Draws the screens beside `path`, and the sheet of them there.
    fn draw(self, path: &Path) {
        let folder = path.with_extension("");
        std::fs::create_dir_all(&folder).expect("a folder can be made");
        let screens = self.screens();
        let file = |name: &str| folder.join(format!("{name}.png"));
        let mut picture = Picture::of(&Fake::new().snapshot(), &scenario(), None, self.size);
        (picture.preset, picture.language) = (self.preset, self.language());
        picture.panels.keys = Arc::clone(&screens[0].1.keys);
        if self.bench {
            picture.scene = Scene::Bench { title: "knot.csv".to_owned(), thread: "chromic gut".to_owned() };
        }
        let panels = screens.iter().map(|(name, model)| (model.clone(), file(name))).collect();
        screenshots(&picture, panels).expect("the pictures are drawn");
        let whole: Vec<PathBuf> = screens.iter().map(|(name, _)| file(name)).collect();
        self.lay_out(&whole, path);
    }

    /// Puts pictures together on a sheet.
    fn lay_out(self, pictures: &[PathBuf], path: &Path) {
        let (width, height) = (SMALL * ABREAST, self.small_height());
        let rows = u32::try_from(pictures.len()).expect("few").div_ceil(ABREAST);
        let mut points = vec![255; (width * height * rows * 4) as usize];
        for (at, picture) in (0..).zip(pictures) {
            let whole = image(&std::fs::read(picture).expect("it was drawn"));
            let small = whole.try_into_dynamic().expect("it has colours").thumbnail_exact(SMALL, height).to_rgba8();
            for (row, line) in (0..).zip(small.as_raw().chunks_exact(4 * SMALL as usize)) {
                let from = 4 * ((at / ABREAST * height + row) * width + at % ABREAST * SMALL) as usize;
                let to = points[from..from + line.len()].iter_mut();
                to.zip(line).for_each(|(to, shade)| *to = shade / COARSE * COARSE);
            }
        }
        let size = Extent3d { width, height: height * rows, depth_or_array_layers: 1 };
        let format = TextureFormat::Rgba8UnormSrgb;
        let sheet = Image::new(size, TextureDimension::D2, points, format, RenderAssetUsages::MAIN_WORLD);
        let sheet = sheet.try_into_dynamic().expect("it has colours").to_rgb8();
        sheet.save(path).expect("the sheet can be written");
    }

    /// The screens that do not look as they did, each with the share of its points that are others.
    fn others(self, now: &[u8], before: &[u8]) -> Vec<(&'static str, f64)> {
        let [now, before] =
            [now, before].map(|bytes| image(bytes).try_into_dynamic().expect("it has colours").to_rgb8());
        assert_eq!(now.dimensions(), before.dimensions(), "sheets of one size");
        let height = self.small_height();
        let share = |at: u32| {
            let (left, top) = (at % ABREAST * SMALL, at / ABREAST * height);
            let points = (top..top + height).flat_map(|y| (left..left + SMALL).map(move |x| (x, y)));
            let other = points.filter(|&(x, y)| {
                let pair = now.get_pixel(x, y).0.into_iter().zip(before.get_pixel(x, y).0);
                pair.into_iter().any(|(now, before)| now.abs_diff(before) > ANOTHER)
            });
            other.count() as f64 / f64::from(SMALL * height)
        };
        let shares = (0..).zip(self.screens()).map(|(at, (name, _))| (name, share(at)));
        shares.filter(|(_, share)| *share > OTHERS_MAX).collect()
    }
}

/// The marks of an attempt without a fault.
fn marks() -> Score {
    let rubric = Rubric::try_from(&scenario().rubric).expect("the shipped rubric is in order");
    score(&faultless(), &order(), &rubric)
}

/// What was measured, after an attempt before.
fn found() -> Measured {
    let past = [("2026-05-03", 61.0, 0.4), ("2026-05-17", 77.4, 1.0)].map(|(day, total, throws)| Past {
        day: day.to_owned(),
        total,
        passed: total >= 70.0,
        marks: vec![("blanching".to_owned(), 0.35), ("throws".to_owned(), throws)],
    });
    Measured::of(faultless(), pages::view(), order(), past.to_vec())
}

fn image(bytes: &[u8]) -> Image {
    let (kind, none) = (ImageType::Extension("png"), CompressedImageFormats::NONE);
    Image::from_buffer(bytes, kind, none, true, ImageSampler::Default, RenderAssetUsages::MAIN_WORLD)
        .expect("it is a picture")
}

#[test]
fn every_screen_looks_as_it_did_when_it_was_last_looked_at() {
    if let Ok(path) = std::env::var(DRAW_TO) {
        let path = Path::new(&path);
        let stem = path.file_stem().expect("it has a name");
        let sheet = Sheet::all().into_iter().find(|(name, _)| name.as_str() == stem).expect("there is such a sheet");
        sheet.1.draw(path);
        return;
    }
    let kept = std::env::var_os(KEEP).map(PathBuf::from);
    let own = std::env::temp_dir().join(format!("knotwright-screens-{}", std::process::id()));
    let folder = kept.as_ref().unwrap_or(&own);
    std::fs::create_dir_all(folder).expect("a folder can be made");
    let mut others = Vec::new();
    // The smallest is enough while one works.
    let sheets = Sheet::all().into_iter().take(if slow::wanted() || kept.is_some() { usize::MAX } else { 1 });
    for (name, sheet) in sheets {
        let Some(now) = drawn(TEST, DRAW_TO, &folder.join(format!("{name}.png"))) else { return };
        if kept.is_none() {
            let before = std::fs::read(format!("tests/ui/screens/{name}.png")).expect("it was looked at once");
            others.extend(sheet.others(&now, &before).into_iter().map(|(screen, share)| {
                format!(
                    "{name}: `{screen}`: {:.1} % of its points are others, at most {:.1} % may be",
                    100.0 * share,
                    100.0 * OTHERS_MAX
                )
            }));
        }
    }
    assert!(
        others.is_empty(),
        "{}\nThe pictures are in {}. If they should look so, say {KEEP}=FOLDER and copy the sheets.",
        others.join("\n"),
        folder.display()
    );
    if kept.is_none() {
        std::fs::remove_dir_all(&own).expect("it can be removed");
    }
}
