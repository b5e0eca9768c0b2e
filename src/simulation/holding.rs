//! Would the knot hold? The stitch as it is, for a pull on the bench, and what the pull found.

use super::attempt::Attempt;
use crate::analysis::findings::{Findings, Holding, Measured};
use crate::analysis::reading::read;
use crate::pull::{End, Pull, SLIP_MAX, TiedStitch, of_stitch};
use crate::quantity::Tick;

impl Attempt {
    /// A stitch in the gum, for [`of_stitch`]; `None` if no thread of it runs through it.
    ///
    /// It is pulled with the material's own law of friction, as every knot on the bench, not with the simpler one of
    /// the hands' thread.
    #[must_use]
    pub fn tied_stitch(&self, stitch: usize) -> Option<TiedStitch> {
        let world = &self.world;
        let (strand, tail) = world.loop_nodes(stitch)?;
        let reading = read(&world.stitch_curve(stitch)?);
        Some(TiedStitch {
            rod: world.rod.clone(),
            memory: world.memory.without_lists(),
            piece: world.stitch_piece(stitch),
            holes: [strand, tail],
            section: self.thread,
            wraps: reading.wraps_apart(),
            tight: None,
            slip_limit: SLIP_MAX,
        })
    }

    /// Everything measured up to now, with a pull of each knot: that takes a second or more for each.
    #[must_use]
    pub fn findings_with_pull(&self) -> Findings {
        let mut findings = self.findings();
        let tick = findings.duration;
        for (index, stitch) in findings.stitches.iter_mut().enumerate() {
            let Some(knot) = stitch.knot.as_mut() else { continue };
            // A pull that cannot be done soundly has measured nothing.
            let pull = self.tied_stitch(index).and_then(|stitch| of_stitch(&stitch).ok().flatten());
            knot.holding = pull.map(|pull| holding(&pull, tick));
        }
        findings
    }
}

/// What a pull found of a knot as it was at `tick`.
fn holding(pull: &Pull, tick: Tick) -> Holding {
    Holding {
        force_mn: Measured::new(pull.holding_force, tick),
        slip_mm: pull.slip_at(pull.holding_force).unwrap_or(0.0),
        broke: matches!(pull.end, End::Broke(_)),
    }
}
