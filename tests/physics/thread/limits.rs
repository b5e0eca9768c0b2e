//! Of which moment the pressing forces are that limit friction.

use super::lay::GUT;
use super::touch::{across_rails, push};
use knotwright::math::DVec3;
use knotwright::rod::step::SlipLimit;

#[test]
fn friction_is_limited_by_what_presses_at_the_end_of_a_step_if_asked_for_and_else_at_its_start() {
    // The press changes in the very step of the push: what was enough at its start is not at its end, and the other way about.
    for (before, after, push_share) in [(1.0, 5.0, 0.9), (5.0, 1.0, 2.0)] {
        for (slip_limit, limiting) in [(SlipLimit::StepStart, before), (SlipLimit::StepEnd { within: 1e-3 }, after)] {
            let mut bench = across_rails(GUT, before);
            let y = bench.rod.positions[3].y;
            bench.settings.slip_limit = slip_limit;
            bench.around.loads.iter_mut().for_each(|(_, load)| load.z = -after);
            let force = push_share * GUT.friction_steel * after;
            push(&mut bench, DVec3::Y * force);
            // So short that drag lets it slide by hundredths of a millimetre only.
            bench.run(1, 0.1);
            let slid = bench.rod.positions[3].y - y;
            let slides = force > GUT.friction_steel * limiting;
            // Sagging between the rails tilts it on them by a hundredth, so that it rolls by a micrometre.
            assert_eq!(
                slid > 5e-3,
                slides,
                "{slip_limit:?}: pressed by {before}, then {after} mN, it slides by {slid} mm"
            );
            assert!(bench.report.limit_error <= 1e-3 && bench.report.residual < 1e-4, "{:?}", bench.report);
        }
    }
}
