//! Rules between the fields of an experiment's gum.

use super::check::Rules;
use super::schema::Quantity;
use super::tissue;
use super::tissue_schema::TissueSpec;

impl Rules<'_> {
    /// Gum that can be, threads that run through it, and something that happens at all.
    pub(super) fn tissue(&mut self) {
        let experiment = self.experiment;
        let Some(spec) = &experiment.tissue else {
            if experiment.threads.is_empty() {
                self.error(
                    "threads",
                    ["[]", "1 to 20, or tissue", "an experiment is made on threads, on gum, or on both"],
                );
            }
            return;
        };
        if let Err(wrong) = tissue::flaps(spec) {
            for (hole, found) in wrong {
                let field = place(hole, &found.place);
                let allowed = format!("{} to {} {}", found.min, found.max, found.unit);
                self.error(&field, [found.found.to_string(), allowed, String::new()]);
            }
        }
        self.passes(spec);
        for (k, needle) in spec.needles.iter().enumerate() {
            self.ascending(&format!("tissue.needles[{k}].motion"), needle.motion.iter().map(|key| key.at_ms));
        }
    }

    fn passes(&mut self, spec: &TissueSpec) {
        for (k, hole) in spec.holes.iter().enumerate() {
            for (n, pass) in hole.threads.iter().enumerate() {
                self.spot(&format!("tissue.holes[{k}].threads[{n}]"), ["thread", "place"], &pass.thread, pass.place);
            }
        }
    }

    pub(super) fn hole(&mut self, field: &str, name: &str) {
        let experiment = self.experiment;
        let holes = experiment.tissue.iter().flat_map(|tissue| &tissue.holes);
        self.refer(field, name, holes.map(|hole| hole.name.as_str()));
    }

    /// A hole that the clock loads: what a thread does to one is for the solver to find.
    pub(super) fn loaded_hole(&mut self, field: &str, name: &str) {
        self.hole(field, name);
        let experiment = self.experiment;
        let mut holes = experiment.tissue.iter().flat_map(|tissue| &tissue.holes);
        if holes.any(|hole| hole.name == name && !hole.threads.is_empty()) {
            let hint = "what a thread does to its hole comes of the thread";
            self.error(field, [&format!("{name:?}, with a thread in it"), "a hole without threads", hint]);
        }
    }

    /// Rules of what is measured on gum; false if it is none of that.
    pub(super) fn tissue_quantity(&mut self, at: &str, quantity: &Quantity) -> bool {
        let experiment = self.experiment;
        match quantity {
            Quantity::HoleDisplacement { hole, along } | Quantity::HoleForce { hole, along } => {
                self.hole(&format!("{at}.hole"), hole);
                self.part(at, *along);
            }
            Quantity::TearLength { hole } | Quantity::TearForce { hole } => self.hole(&format!("{at}.hole"), hole),
            Quantity::NeedleForce { needle } => {
                let needles = experiment.tissue.iter().flat_map(|tissue| &tissue.needles);
                self.refer(&format!("{at}.needle"), needle, needles.map(|needle| needle.name.as_str()));
            }
            Quantity::PressedArea { .. }
            | Quantity::PaleArea
            | Quantity::PaleDose
            | Quantity::Paleness { .. }
            | Quantity::EdgeGap { .. }
            | Quantity::TissueEnergy => {}
            _ => return false,
        }
        if experiment.tissue.is_none() {
            self.error(at, ["of gum", "a quantity of threads", "there is no tissue"]);
        }
        true
    }
}

/// Where in the text a number of the flaps stands.
fn place(hole: Option<usize>, found: &str) -> String {
    let own = found.rsplit('.').next().unwrap_or(found);
    match (hole, own) {
        (Some(k), "x_mm") => format!("tissue.holes[{k}].along_wound_mm"),
        (Some(k), "thread_diameter_mm") => format!("tissue.holes[{k}].diameter_mm"),
        (Some(k), own) => format!("tissue.holes[{k}].{own}"),
        (None, "gap_mm") => "tissue.edge_gap_mm".to_owned(),
        (None, own) => format!("tissue.flap.{own}"),
    }
}
