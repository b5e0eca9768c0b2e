//! A mark is a number from 0 to 1 whatever was measured.

use knotwright::analysis::findings::{
    Bite, Blanching, Crush, Direction, EdgeStation, Edges, Findings, FlapPlace, Form, Handedness, Holding, Knot,
    LoopTension, Measured, MembraneCover, NeedleEvent, NeedleEventKind, PeakTension, Sawing, Side, SiteCheck, SiteMark,
    Stitch, Tails, Tear, ThreadBreak, ThreadUse, Throw, Tissue, Validity,
};
use knotwright::quantity::Tick;
use knotwright::score::{Bands, CRITERIA, Closure, Span, TaskOrder};
use knotwright::tooth::Tooth;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::{rubric, score_of};

/// Findings that no attempt would give, as well as ones that it would.
struct Unruly(ChaCha8Rng);

impl Unruly {
    fn number(&mut self) -> f64 {
        match self.0.random_range(0..12) {
            0 => f64::NAN,
            1 => f64::INFINITY,
            2 => f64::NEG_INFINITY,
            3 => f64::MAX,
            4 => -0.0,
            5..8 => self.0.random_range(-1000.0..1000.0),
            _ => self.0.random_range(0.0..6.0),
        }
    }

    fn tick(&mut self) -> Tick {
        Tick(if self.maybe() { u32::MAX } else { self.0.random_range(0..6000) })
    }

    fn maybe(&mut self) -> bool {
        self.0.random_range(0..4) == 0
    }

    fn measured(&mut self) -> Measured {
        Measured::new(self.number(), self.tick())
    }

    fn several<T>(&mut self, max: usize, mut one: impl FnMut(&mut Self) -> T) -> Vec<T> {
        let count = self.0.random_range(0..=max);
        (0..count).map(|_| one(self)).collect()
    }

    fn unless<T>(&mut self, one: impl FnOnce(&mut Self) -> T) -> Option<T> {
        if self.maybe() { None } else { Some(one(self)) }
    }

    fn kind(&mut self) -> NeedleEventKind {
        use NeedleEventKind::{Dropped, Entered, MetBone, MetTooth};
        [Entered, Dropped, MetBone, MetTooth][self.0.random_range(0..4)]
    }

    fn side(&mut self) -> Side {
        if self.0.random() { Side::Cheek } else { Side::Tongue }
    }

    fn tooth(&mut self) -> Tooth {
        let number = 10 * self.0.random_range(1..=4) + self.0.random_range(1..=8);
        Tooth::try_from(number).expect("every place of every quadrant has a tooth")
    }

    fn bite(&mut self) -> Bite {
        Bite {
            flap: self.side(),
            along_wound_mm: self.number(),
            distance_from_edge_mm: self.number(),
            depth_mm: self.number(),
            angle_deg: self.number(),
            tick: self.tick(),
        }
    }

    fn throw(&mut self) -> Throw {
        Throw {
            wraps: self.0.random_range(0..4),
            handedness: if self.0.random() { Handedness::Left } else { Handedness::Right },
            direction: if self.0.random() { Direction::Away } else { Direction::Toward },
            tick: self.tick(),
        }
    }

    fn knot(&mut self) -> Knot {
        Knot {
            notation: "1=1".to_owned(),
            throws: self.several(8, Self::throw),
            form: if self.0.random() { Form::Flat } else { Form::Sliding },
            form_measure: self.number(),
            unclear: self.maybe().then(|| "two readings disagree".to_owned()),
            determinant: None,
            from_wound_line_mm: self.measured(),
            outside_socket_mm: self.measured(),
            holding: self.unless(|it| Holding { force_mn: it.measured(), slip_mm: it.number(), broke: it.maybe() }),
        }
    }

    fn stitch(&mut self) -> Stitch {
        Stitch {
            bites: self.several(4, Self::bite),
            knot: self.unless(Self::knot),
            knot_undone: self.maybe().then(|| self.tick()),
            loop_tension: self.unless(|it| LoopTension { now_mn: it.measured(), peak_mn: it.measured() }),
            tails: Tails { tail_mm: self.unless(Self::measured), strand_mm: self.unless(Self::measured) },
        }
    }

    fn tear(&mut self) -> Tear {
        Tear { stitch: 0, bite: u32::MAX, slit_mm: self.number(), through: self.maybe(), tick: self.tick() }
    }

    fn blanching(&mut self) -> Blanching {
        Blanching {
            end_mm2: self.measured(),
            peak_mm2: self.measured(),
            integral_mm2_s: self.measured(),
            persisting_mm2: self.unless(Self::measured),
            peak_place: self.unless(Self::place),
            lasting_place: self.unless(Self::place),
        }
    }

    fn membrane(&mut self) -> MembraneCover {
        MembraneCover {
            under_cheek_mm: self.measured(),
            under_tongue_mm: self.measured(),
            pierced: self.several(3, Self::tick),
            dragged_mm: self.unless(Self::measured),
        }
    }

    fn place(&mut self) -> FlapPlace {
        FlapPlace { flap: self.side(), along_wound_mm: self.number(), from_edge_mm: self.number() }
    }

    fn edges(&mut self) -> Edges {
        let station =
            |it: &mut Self| EdgeStation { along_wound_mm: it.number(), gap_mm: it.number(), step_mm: it.number() };
        Edges { stations: self.several(8, station), tick: self.tick() }
    }

    fn thread_use(&mut self) -> ThreadUse {
        ThreadUse {
            crushed: self.several(2, |it| Crush {
                stitch: u32::MAX,
                from_swage_mm: it.number(),
                beyond_knot_mm: it.number(),
                tick: it.tick(),
            }),
            peak: self.unless(|it| PeakTension {
                tension_n: it.number(),
                share: it.number(),
                from_swage_mm: it.number(),
                tick: it.tick(),
            }),
            sawing: self.several(2, |it| Sawing { stitch: 0, bite: 0, work_n_mm: it.number(), tick: it.tick() }),
        }
    }

    fn findings(&mut self) -> Findings {
        Findings {
            duration: self.tick(),
            site: SiteCheck {
                marks: self.several(3, |it| SiteMark { tooth: it.unless(Self::tooth), tick: it.tick() }),
                first_bite: self.unless(Self::tick),
            },
            stitches: self.several(3, Self::stitch),
            tissue: Tissue {
                blanching: self.unless(Self::blanching),
                tears: self.several(2, Self::tear),
                edges_gap_mm: self.unless(Self::measured),
                edges: self.unless(Self::edges),
                membrane: self.unless(Self::membrane),
            },
            needle: self.several(4, |it| NeedleEvent {
                kind: it.kind(),
                along_wound_mm: it.number(),
                across_mm: it.number(),
                force_n: it.unless(Self::number),
                tick: it.tick(),
            }),
            thread_use: self.thread_use(),
            thread_breaks: self.several(1, |it| ThreadBreak {
                from_swage_mm: it.number(),
                tension_n: it.number(),
                load_n: it.number(),
                tick: it.tick(),
            }),
            validity: Validity {
                invalid_ticks: self.several(1, Self::tick),
                residual: self.measured(),
                substeps: self.0.random_range(0..6000),
                substeps_above_tolerance: self.0.random_range(0..6000),
            },
        }
    }

    fn order(&mut self) -> TaskOrder {
        let ordered = |throw: Throw| knotwright::score::OrderedThrow { wraps: throw.wraps, direction: throw.direction };
        TaskOrder {
            tooth: self.tooth(),
            stitches: self.0.random_range(0..4),
            throws: self.several(4, |it| ordered(it.throw())),
            knot_side: self.side(),
            bite_mm: Span { min: 2.0, max: 3.0 },
            tail_mm: Span { min: 3.0, max: 10.0 },
            closure: if self.maybe() { Closure::OpenHealing } else { Closure::Approximation },
        }
    }
}

/// Findings and an order without rhyme or reason.
pub(super) fn unruly(seed: u64) -> (Findings, TaskOrder) {
    let mut unruly = Unruly(ChaCha8Rng::seed_from_u64(seed));
    (unruly.findings(), unruly.order())
}

#[test]
fn every_mark_is_finite_and_from_0_to_1() {
    let mut marks_between = 0;
    for seed in 0..1000 {
        let (findings, order) = unruly(seed);
        for criterion in CRITERIA {
            let assessment = criterion.assess(&findings, &order, &Bands::default());
            let place = format!("`{}`, seed {seed}: {assessment:?}", criterion.id());
            assert!(assessment.mark.is_finite() && (0.0..=1.0).contains(&assessment.mark), "{place}");
            assert!(assessment.value.is_none_or(|(value, _)| value.is_finite()), "{place}");
            assert!(!assessment.evidence.contains("NaN") && !assessment.evidence.contains("inf "), "{place}");
            assert!(assessment.evidence.ends_with('.'), "{place}");
            let full = assessment.mark >= 1.0;
            assert_eq!((assessment.fault, assessment.advice.is_empty()), (!full, full), "{place}");
            if assessment.mark > 0.0 && !full {
                marks_between += 1;
            }
        }
        assert!((0.0..=100.0).contains(&score_of(&findings, &rubric(true)).total), "seed {seed}");
    }
    assert!(marks_between > 100, "the findings reach the slopes of the curves: {marks_between}");
}
