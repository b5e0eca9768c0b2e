//! What must be there before a window can open, looked at before the engine starts, because the engine panics.

use std::fmt;

use bevy::tasks::block_on;
use wgpu::{Backends, DeviceType, Instance, InstanceDescriptor};

/// Which drivers to look at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AdapterChoice {
    /// Name of the backend: `vulkan`, `dx12`, `metal` or `gl`; `None` for all.
    pub backend: Option<String>,
    /// Part of the adapter's name, in any case; `None` for the best.
    pub name: Option<String>,
}

/// What will draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AdapterSummary {
    /// Its name.
    pub name: String,
    /// The backend through which it is reached, in words.
    pub backend: String,
    /// Its driver, in words.
    pub driver: String,
    /// Whether a processor draws, and not a graphics card.
    pub software: bool,
}

impl fmt::Display for AdapterSummary {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = if self.software { "software" } else { "graphics card" };
        write!(out, "{} ({}, {}, {kind})", self.name, self.backend, self.driver)
    }
}

/// What a window lacks here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lack {
    /// No screen to open a window on.
    Display,
    /// No driver that can draw.
    Adapter,
}

/// What is missing, and what to do about it: prints as three lines.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}\n{}\n{}", self.what(), self.install(), self.instead())]
pub struct Missing {
    /// What it is.
    pub lack: Lack,
    /// What was found in its place, in words.
    pub found: String,
}

impl Missing {
    /// What is missing.
    #[must_use]
    pub fn what(&self) -> String {
        match self.lack {
            Lack::Display => format!("missing: a display to open a window on ({})", self.found),
            Lack::Adapter => format!("missing: a graphics adapter that can draw ({})", self.found),
        }
    }

    /// What to install or start.
    #[must_use]
    pub fn install(&self) -> &'static str {
        match self.lack {
            Lack::Display => "to get one: log in to a desktop, or start an X server, or use `xvfb-run -a knotwright`",
            Lack::Adapter => {
                "to get one: apt-get install mesa-vulkan-drivers libvulkan1 libxkbcommon-x11-0 libx11-xcb1"
            }
        }
    }

    /// How to do without.
    #[must_use]
    pub fn instead(&self) -> &'static str {
        "without a window: `knotwright demo` ties, grades and reports in the terminal"
    }
}

/// Looks for a display, given how to read an environment variable.
///
/// # Errors
/// On Linux, if neither `DISPLAY` nor `WAYLAND_DISPLAY` says where one is, or no X server answers there. Other systems
/// always have one to ask.
pub fn display(variable: impl Fn(&str) -> Option<String>) -> Result<(), Missing> {
    let told = |name| variable(name).filter(|value| !value.is_empty());
    if !cfg!(target_os = "linux") || (cfg!(feature = "wayland") && told("WAYLAND_DISPLAY").is_some()) {
        return Ok(());
    }
    let found = match (told("DISPLAY"), told("WAYLAND_DISPLAY")) {
        (Some(display), _) if answers(&display) => return Ok(()),
        (Some(display), _) => format!("DISPLAY is {display}, but no X server answers there"),
        (None, Some(_)) => {
            "WAYLAND_DISPLAY is set, but this build speaks X11 only: build with `--features wayland`".to_owned()
        }
        (None, None) => "DISPLAY is not set".to_owned(),
    };
    Err(Missing { lack: Lack::Display, found })
}

/// Whether an X server of this machine answers under a display's name; one of another machine is taken on trust.
#[cfg(target_os = "linux")]
fn answers(display: &str) -> bool {
    use std::os::linux::net::SocketAddrExt;
    use std::os::unix::net::{SocketAddr, UnixStream};

    let Some(number) = display.strip_prefix(':').or_else(|| display.strip_prefix("unix:")) else { return true };
    let number = number.split('.').next().unwrap_or(number);
    let path = format!("/tmp/.X11-unix/X{number}");
    let unnamed = SocketAddr::from_abstract_name(path.as_bytes());
    UnixStream::connect(&path).is_ok() || unnamed.is_ok_and(|address| UnixStream::connect_addr(&address).is_ok())
}

/// Other systems have their own display.
#[cfg(not(target_os = "linux"))]
fn answers(_display: &str) -> bool {
    true
}

/// The adapters of a choice, graphics cards first.
#[must_use]
pub fn all(choice: &AdapterChoice) -> Vec<AdapterSummary> {
    let backends = choice.backend.as_deref().map_or(Backends::all(), backends_named);
    let mut descriptor = InstanceDescriptor::new_without_display_handle();
    descriptor.backends = backends;
    let instance = Instance::new(descriptor);
    let mut found: Vec<AdapterSummary> = block_on(instance.enumerate_adapters(backends))
        .iter()
        .map(|adapter| {
            let info = adapter.get_info();
            AdapterSummary {
                name: info.name,
                backend: info.backend.to_string(),
                driver: format!("{} {}", info.driver, info.driver_info).trim().to_owned(),
                software: info.device_type == DeviceType::Cpu,
            }
        })
        .filter(|adapter| choice.name.as_ref().is_none_or(|name| contains(&adapter.name, name)))
        .collect();
    found.sort_by_key(|adapter| adapter.software);
    found
}

/// The first adapter of a choice.
///
/// # Errors
/// If there is none.
pub fn adapter(choice: &AdapterChoice) -> Result<AdapterSummary, Missing> {
    let name = choice.name.as_deref().map_or_else(String::new, |name| format!(" with `{name}` in its name"));
    let found = format!("no {} driver answered{name}", choice.backend.as_deref().unwrap_or("Vulkan, DX12 or Metal"));
    all(choice).into_iter().next().ok_or(Missing { lack: Lack::Adapter, found })
}

/// The backends of a name; none of an unknown one.
#[must_use]
pub(super) fn backends_named(name: &str) -> Backends {
    match name {
        "vulkan" => Backends::VULKAN,
        "dx12" => Backends::DX12,
        "metal" => Backends::METAL,
        "gl" => Backends::GL,
        _ => Backends::empty(),
    }
}

fn contains(text: &str, part: &str) -> bool {
    text.to_lowercase().contains(&part.to_lowercase())
}
