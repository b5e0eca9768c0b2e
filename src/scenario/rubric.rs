//! The ids a rubric may use, and the bands each criterion needs.

/// Which end of a measured scale is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// `full` must be greater than `zero`.
    More,
    /// `full` must be less than `zero`.
    Less,
}

/// A band that a criterion needs: the measured number it turns into a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BandRule {
    /// Id of the criterion.
    pub criterion: &'static str,
    /// Name of the band, with its unit.
    pub band: &'static str,
    /// Which end is good.
    pub better: Better,
    /// What is measured.
    pub meaning: &'static str,
}

/// The criteria: what each marks is said by the criterion's own file in `score`.
pub const CRITERION_IDS: &[&str] = &[
    "throws",
    "laid_square",
    "blanching",
    "tearing",
    "knot_aside",
    "bite",
    "spacing",
    "membrane_cover",
    "edges",
    "needle_care",
    "thread_care",
    "cut_ends",
    "holds",
    "snug",
    "time",
];

/// The fault of a first bite at another site than the order names. A rubric that lists it has the site checked.
pub const WRONG_SITE: &str = "wrong_site";

/// The faults that can fail an attempt by themselves.
pub const CRITICAL_FAULT_IDS: &[&str] =
    &[WRONG_SITE, "tear_through", "knot_undone", "needle_lost", "thread_broken", "physically_invalid"];

/// Every band of every criterion; `throws` and `laid_square` are marked by count and have none.
pub const BAND_RULES: &[BandRule] = &[
    BandRule {
        criterion: "blanching",
        band: "pale_area_mm2",
        better: Better::Less,
        meaning: "pale gum 5 s after the last throw, the rings round the holes left out",
    },
    BandRule {
        criterion: "blanching",
        band: "pale_dose_mm2_s",
        better: Better::Less,
        meaning: "the same area summed over the time of the attempt",
    },
    BandRule {
        criterion: "tearing",
        band: "slit_mm",
        better: Better::Less,
        meaning: "longest slit torn from a bite toward the edge",
    },
    BandRule {
        criterion: "knot_aside",
        band: "past_edge_mm",
        better: Better::More,
        meaning: "distance of the knot's middle past the flap edge on the ordered side, negative over the gap",
    },
    BandRule {
        criterion: "bite",
        band: "outside_mm",
        better: Better::Less,
        meaning: "how far the worse bite lies outside task.bite_mm",
    },
    BandRule {
        criterion: "bite",
        band: "uneven_mm",
        better: Better::Less,
        meaning: "difference of the two bites' distances from their edges",
    },
    BandRule {
        criterion: "spacing",
        band: "near_mm",
        better: Better::More,
        meaning: "least distance between neighbouring stitches along the wound",
    },
    BandRule {
        criterion: "spacing",
        band: "far_mm",
        better: Better::Less,
        meaning: "largest distance between neighbouring stitches along the wound",
    },
    BandRule {
        criterion: "spacing",
        band: "uneven_mm",
        better: Better::Less,
        meaning: "difference between the largest and the least of these distances",
    },
    BandRule {
        criterion: "membrane_cover",
        band: "overlap_mm",
        better: Better::More,
        meaning: "how far the membrane reaches under the flap where it reaches least",
    },
    BandRule {
        criterion: "edges",
        band: "gap_mm",
        better: Better::Less,
        meaning: "widest gap between the edges within a stitch's reach, marked where the closure is Approximation",
    },
    BandRule {
        criterion: "edges",
        band: "step_mm",
        better: Better::Less,
        meaning: "how much higher one edge stands than the other, within a stitch's reach",
    },
    BandRule {
        criterion: "needle_care",
        band: "drops",
        better: Better::Less,
        meaning: "how often the needle was held by nothing",
    },
    BandRule {
        criterion: "thread_care",
        band: "grips",
        better: Better::Less,
        meaning: "how often the holder's jaws closed on thread that stays in the wound",
    },
    BandRule {
        criterion: "thread_care",
        band: "strength_share",
        better: Better::Less,
        meaning: "largest tension of the thread, as a share of what it bears straight",
    },
    BandRule {
        criterion: "thread_care",
        band: "sawing_n_mm",
        better: Better::Less,
        meaning: "way of the thread through a bite, each bit of it times the tension there",
    },
    BandRule {
        criterion: "cut_ends",
        band: "outside_mm",
        better: Better::Less,
        meaning: "how far the worse end's length lies outside task.tail_mm",
    },
    BandRule {
        criterion: "holds",
        band: "force_n",
        better: Better::More,
        meaning: "force that the knot holds, its loop cut and drawn open, before it slips by 1.8 mm or the thread breaks",
    },
    BandRule {
        criterion: "snug",
        band: "tension_mn",
        better: Better::More,
        meaning: "tension of the loop through the gum at the end",
    },
    BandRule { criterion: "time", band: "time_s", better: Better::Less, meaning: "time of the whole attempt" },
];

/// The bands that `criterion` needs.
pub(super) fn bands_of(criterion: &str) -> impl Iterator<Item = &'static BandRule> {
    BAND_RULES.iter().filter(move |rule| rule.criterion == criterion)
}
