//! The window as it is opened, by what an X server makes of keys and a pointer that move for real.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use knotwright::cli::session::Event;
use knotwright::input::HandEvent;
use knotwright::record::{Integrity, read};

/// `required` asks for this test: it would take the keys from whoever works here.
const ASKED: &str = "KNOTWRIGHT_EVENT_TESTS";
/// Time between two looks, and how many there are at most: two minutes for two busy cores that draw in software; estimate, they
/// take less than a second when they are free.
const EVERY: Duration = Duration::from_millis(200);
const LOOKS: u32 = 600;
/// The same for what has been handed in, before all is done again, and how often that is.
const LOOKS_AGAIN: u32 = 50;
const TRIES: u32 = 8;
/// In the window as it opens, 960x600: tooth 35 on the arch, and the button that marks the chosen tooth [pixel].
const TOOTH: (u32, u32) = (633, 347);
const MARK: (u32, u32) = (760, 247);
/// The pointer's places on the way, below the panels [pixel]; the field is about 0.05 mm a pixel there.
const PLACES: [(u32, u32); 6] = [(400, 450), (500, 450), (600, 450), (700, 450), (500, 450), (600, 460)];
/// A picture or more comes between two events, so that a button is there before it is pressed.
const PAUSE: Duration = Duration::from_millis(800);
/// How far the holder's tip has to get between them at least [mm]: they are 15 mm apart, and its speed is capped.
const SWEPT: f64 = 5.0;

/// A window that is shut when the test is over, however that ends.
struct Open(Child);

impl Drop for Open {
    fn drop(&mut self) {
        // It may have shut itself.
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

/// What `xdotool` prints; it gives events to the X server, as a keyboard and a mouse do.
fn xdotool(arguments: &[&str]) -> String {
    let done = Command::new("xdotool").args(arguments).output().expect("xdotool is installed");
    String::from_utf8_lossy(&done.stdout).trim().to_owned()
}

fn point_at((x, y): (u32, u32)) {
    xdotool(&["mousemove", &x.to_string(), &y.to_string()]);
    sleep(PAUSE);
}

fn click(at: (u32, u32)) {
    point_at(at);
    for act in ["mousedown", "mouseup"] {
        xdotool(&[act, "1"]);
        sleep(PAUSE);
    }
}

/// Looks until there is something to be seen, so many times at most.
fn wait_for<T>(looks: u32, mut look: impl FnMut() -> Option<T>) -> Option<T> {
    (0..looks).find_map(|_| {
        sleep(EVERY);
        look()
    })
}

/// The attempt that was handed in, once it is there.
fn handed_in(folder: &Path) -> Option<PathBuf> {
    let files = fs::read_dir(folder).ok()?.map(|entry| entry.expect("it can be listed").path());
    files.into_iter().find(|path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        name.starts_with("attempt-") && name.ends_with(".attempt")
    })
}

#[test]
fn a_real_pointer_marks_the_site_and_leads_the_hand_and_what_it_did_is_handed_in_and_verified() {
    if std::env::var(ASKED).as_deref() != Ok("required") {
        return;
    }
    let folder = std::env::temp_dir().join(format!("knotwright-real-events-{}", std::process::id()));
    let words = folder.with_extension("words");
    let program = Command::new(env!("CARGO_BIN_EXE_knotwright"))
        .args(["window", "scenarios/first_stitch.ron", "--data-dir"])
        .arg(&folder)
        .stdout(Stdio::null())
        .stderr(fs::File::create(&words).expect("a file can be made"))
        .spawn()
        .expect("the program starts");
    let program = Open(program);
    let window = wait_for(LOOKS, || {
        let found = xdotool(&["search", "--onlyvisible", "--name", "^knotwright: "]);
        found.lines().next().map(str::to_owned)
    });
    let said = || fs::read_to_string(&words).unwrap_or_default();
    let window = window.unwrap_or_else(|| panic!("no window within two minutes; the program said:\n{}", said()));
    // Keys that come before the first picture may be lost: then the same again.
    let attempt = wait_for(TRIES, || {
        xdotool(&["windowfocus", &window]);
        // Own hands, no tutorial, the tooth, the way of the pointer, handed in.
        for key in ["b", "Escape"] {
            xdotool(&["key", key]);
            sleep(PAUSE);
        }
        click(TOOTH);
        click(MARK);
        PLACES.into_iter().for_each(point_at);
        xdotool(&["key", "f"]);
        wait_for(LOOKS_AGAIN, || handed_in(&folder))
    });
    let attempt = attempt.unwrap_or_else(|| panic!("nothing was handed in; the program said:\n{}", said()));
    let kept = wait_for(LOOKS, || {
        let (recording, integrity) = read::<Event>(&fs::read(&attempt).ok()?).ok()?;
        (integrity == Integrity::Whole).then_some(recording)
    });
    drop(program);
    let recording = kept.expect("the attempt never became whole");
    let marked = recording.ticks.iter().flat_map(|tick| &tick.command.events).find_map(|event| match event {
        HandEvent::Mark { tooth } => *tooth,
        _ => None,
    });
    assert_eq!(marked.map(|tooth| tooth.to_string()).as_deref(), Some("35"));
    let x: Vec<f64> = recording.ticks.iter().map(|tick| tick.command.right.pose().position.x).collect();
    let (least, most) =
        x.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), x| (least.min(*x), most.max(*x)));
    assert!(most - least > SWEPT, "the tip moved from {least} to {most} mm in {} ticks", x.len());
    let replay = Command::new(env!("CARGO_BIN_EXE_knotwright")).arg("replay").arg(&attempt).output().expect("it runs");
    let said = String::from_utf8_lossy(&replay.stdout).into_owned();
    assert!(said.starts_with("Verdict: verified"), "{said}");
    fs::remove_dir_all(&folder).expect("it can be removed");
    fs::remove_file(&words).expect("it can be removed");
}
