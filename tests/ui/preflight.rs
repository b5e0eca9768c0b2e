//! What is said when no window can open.

use knotwright::app::preflight::{all, display};
use knotwright::app::{AdapterChoice, AdapterSummary, Lack, Missing, Preset};

/// What the programs of this machine need from the system's packages.
const APT_LINE: &str = "apt-get install mesa-vulkan-drivers libvulkan1 libxkbcommon-x11-0 libx11-xcb1";

#[test]
#[cfg(target_os = "linux")]
fn an_empty_environment_has_no_display() {
    let missing = display(|_| None).expect_err("there is none");
    assert_eq!(missing.lack, Lack::Display);
    let text = missing.to_string();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 3, "{text}");
    assert_eq!(lines[0], "missing: a display to open a window on (DISPLAY is not set)");
    assert!(lines[1].contains("X server") && lines[1].contains("xvfb-run"), "{text}");
    assert!(lines[2].contains("knotwright demo"), "{text}");
}

#[test]
#[cfg(target_os = "linux")]
fn an_empty_variable_is_no_display() {
    assert!(display(|_| Some(String::new())).is_err());
}

#[test]
#[cfg(target_os = "linux")]
fn a_display_whose_server_is_gone_is_no_display() {
    let missing = display(|name| (name == "DISPLAY").then(|| ":4711".to_owned())).expect_err("no server has it");
    assert_eq!(missing.found, "DISPLAY is :4711, but no X server answers there");
}

#[test]
fn a_missing_adapter_names_the_packages() {
    let missing = Missing { lack: Lack::Adapter, found: "no vulkan driver answered".to_owned() };
    let text = missing.to_string();
    assert_eq!(text.lines().count(), 3, "{text}");
    assert!(text.contains(APT_LINE), "{text}");
}

#[test]
fn a_backend_of_no_such_name_has_no_adapter() {
    let choice = AdapterChoice { backend: Some("paper".to_owned()), name: None };
    assert_eq!(all(&choice), []);
}

#[test]
fn a_processor_that_draws_draws_less() {
    let adapter = |software| AdapterSummary {
        name: "any".to_owned(),
        backend: "vulkan".to_owned(),
        driver: String::new(),
        software,
    };
    assert_eq!(Preset::suited_to(&adapter(true)), Preset::Low);
    assert_eq!(Preset::suited_to(&adapter(false)), Preset::Normal);
    assert!(Preset::Low.shadow_map() < Preset::Normal.shadow_map());
    assert_eq!(Preset::Low.samples(), 1);
}
