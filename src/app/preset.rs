//! How much is drawn, by what draws it.

use super::preflight::AdapterSummary;

/// How much is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Preset {
    /// For a processor that has to do a graphics card's work.
    Low,
    /// For a graphics card.
    Normal,
}

impl Preset {
    /// What suits an adapter.
    #[must_use]
    pub fn suited_to(adapter: &AdapterSummary) -> Preset {
        if adapter.software { Preset::Low } else { Preset::Normal }
    }

    /// Samples a pixel at edges: 1 or 4.
    #[must_use]
    pub fn samples(self) -> u32 {
        match self {
            Preset::Low => 1,
            Preset::Normal => 4,
        }
    }

    /// Width of the lamp's shadow map [texel].
    #[must_use]
    pub fn shadow_map(self) -> usize {
        match self {
            Preset::Low => 512,
            Preset::Normal => 2048,
        }
    }

    /// Whether the picture from the side is there without being asked for.
    #[must_use]
    pub fn side_view(self) -> bool {
        self == Preset::Normal
    }

    /// Whether the demonstration's ghost is there without being asked for: to carry it out takes another core.
    #[must_use]
    pub fn ghost(self) -> bool {
        self == Preset::Normal
    }

    /// Sides of the thread's tube.
    #[must_use]
    pub fn tube_sides(self) -> usize {
        match self {
            Preset::Low => 6,
            Preset::Normal => 10,
        }
    }

    /// Drawn rings of the thread for each simulated edge.
    #[must_use]
    pub fn tube_rings(self) -> usize {
        match self {
            Preset::Low => 2,
            Preset::Normal => 4,
        }
    }

    /// How many times coarser than they might be still things are drawn: a processor's time goes by their points.
    #[must_use]
    pub fn coarseness(self) -> u8 {
        match self {
            Preset::Low => 2,
            Preset::Normal => 1,
        }
    }

    /// How many times smaller than the window the picture is drawn, each way.
    #[must_use]
    pub fn shrink(self) -> u32 {
        match self {
            Preset::Low => 2,
            Preset::Normal => 1,
        }
    }

    /// Whether wet things get a second, clear gloss.
    #[must_use]
    pub fn clear_coat(self) -> bool {
        self == Preset::Normal
    }

    /// Size of the window at first [pixel].
    #[must_use]
    pub fn window_size(self) -> (u32, u32) {
        match self {
            Preset::Low => (960, 600),
            Preset::Normal => (1440, 900),
        }
    }
}
