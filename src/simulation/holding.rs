//! Would the knot hold? The stitch as it is, for a pull on the bench.

use super::attempt::Attempt;
use crate::analysis::reading::read;
use crate::material;
use crate::pull::TiedStitch;

impl Attempt {
    /// The stitch in the gum, for [`crate::pull::of_stitch`]; `None` if no thread runs through it.
    ///
    /// It is pulled with the material's own law of friction, as every knot on the bench, not with the simpler one of
    /// the hands' thread.
    #[must_use]
    pub fn tied_stitch(&self) -> Option<TiedStitch> {
        let (world, thread) = (&self.world, &self.scenario.thread);
        let (strand, tail) = world.loop_nodes()?;
        let reading = read(&world.stitch_curve()?);
        let wraps = reading.throws.iter().map(|throw| throw.wraps).max().unwrap_or(1);
        let known = material::find(&thread.material, &thread.size, thread.wet);
        Some(TiedStitch {
            rod: world.rod.clone(),
            memory: world.memory.without_lists(),
            piece: world.stitch_piece(),
            holes: [strand, tail],
            section: known.map_or(world.rod.section, |known| known.section),
            wraps: wraps as usize,
        })
    }
}
