//! A knot pulled open beside the window: how it comes, how it looks, what is said of it.

use std::sync::{Arc, LazyLock};

use bevy::tasks::{AsyncComputeTaskPool, TaskPool};
use bevy_egui::egui::{Pos2, Rect, Shape, Vec2};

use knotwright::analysis::reading::read;
use knotwright::app::ToPull;
use knotwright::app::pulling::Pulls;
use knotwright::app::ui::curve::ticks;
use knotwright::app::ui::pulled::{moment, result};
use knotwright::app::ui::strands::{Side, knot, middle};
use knotwright::app::ui::{PullState, PullView};
use knotwright::app::words::Language::English;
use knotwright::material::find;
use knotwright::math::DVec3;
use knotwright::pull::{End, Frame, Point, Pull, SLIP_MAX, Tabled, Test, parse, tie};

/// A square knot of silk, as a table gives it.
static SILK: LazyLock<ToPull> = LazyLock::new(|| {
    let section = find("silk", "4-0", true).expect("it is known").section;
    let test =
        Test { throws: parse("1=1").expect("in order"), section, pretension: 2000.0, tail: 3.0, slip_limit: SLIP_MAX };
    let curve = tie(&test).expect("it is done soundly").expect("it is tied").curve;
    let knot = Tabled::new(curve.clone(), &read(&curve), None);
    ToPull::Table { knot: Box::new(knot), section: Box::new(section) }
});

/// Waits for a pull as the window does, frame by frame.
fn pulled(knot: ToPull) -> (PullView, usize) {
    AsyncComputeTaskPool::get_or_init(TaskPool::new);
    let mut pulls = Pulls::default();
    pulls.begin(vec![knot]);
    let mut seen_under_way = 0;
    loop {
        pulls.gather();
        pulls.advance(0.001);
        let view = pulls.view().expect("a knot was handed over");
        if view.state != PullState::Running {
            return (view, seen_under_way);
        }
        seen_under_way += usize::from(!view.frames.is_empty());
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
}

#[test]
fn a_pull_is_seen_while_it_goes_on_and_ends_with_the_same_curve_as_without_a_window() {
    let (view, seen_under_way) = pulled(SILK.clone());
    let PullState::Done(pull) = &view.state else { panic!("{:?}", view.state) };
    let ToPull::Table { knot, section } = &*SILK else { unreachable!("it is of a table") };
    let stitch = knot.stitch(**section).expect("its limbs are long enough");
    assert_eq!(knotwright::pull::of_stitch(&stitch), Ok(Some((**pull).clone())));
    assert!(seen_under_way > 3, "frames came {seen_under_way} times before the end");
    assert!(view.frames.len() > 20, "{} frames", view.frames.len());
}

#[test]
fn what_cannot_be_pulled_says_why() {
    let why = "no thread was named".to_owned();
    let (view, _) = pulled(ToPull::Nothing { radius: 0.1, why: why.clone().into() });
    assert_eq!(result(English, &view), why);
}

fn frame(strands: [Vec<DVec3>; 2]) -> Frame {
    Frame { strands, point: None, broke: None }
}

/// Two strands that cross, the first one above it by `z`.
fn crossing(z: f64) -> Frame {
    let line = |way: DVec3, z: f64| (-20..=20).map(|k| way * (f64::from(k) * 0.1) + DVec3::Z * z).collect();
    frame([line(DVec3::new(-1.0, -1.0, 0.0), z), line(DVec3::new(1.0, -1.0, 0.0), 0.0)])
}

/// Colours of the shapes that lie at a place, from the lowest up.
fn colours_at(shapes: &[Shape], place: Pos2) -> Vec<bevy_egui::egui::Color32> {
    let near = |shape: &Shape| match shape {
        Shape::LineSegment { points, stroke } => {
            let middle = points[0] + (points[1] - points[0]) * 0.5;
            (middle.distance(place) < 6.0).then_some(stroke.color)
        }
        _ => None,
    };
    shapes.iter().filter_map(near).collect()
}

#[test]
fn the_strand_that_is_nearer_is_drawn_over_the_other() {
    let rect = Rect::from_min_size(Pos2::ZERO, Vec2::splat(300.0));
    let side = Side { right: DVec3::X, up: DVec3::Y };
    let top = |z: f64| {
        let shapes = knot(&crossing(z), side, 0.1, rect);
        *colours_at(&shapes, rect.center()).last().expect("the strands cross in the middle")
    };
    let (first, second) = (top(0.3), top(-0.3));
    // Blue lies above in the one, orange in the other.
    assert!(first.b() > first.r(), "{first:?}");
    assert!(second.r() > second.b(), "{second:?}");
}

#[test]
fn the_eye_follows_the_knot_and_not_the_ends() {
    let mut aside = crossing(0.2);
    aside.strands[0].extend((1..50).map(|k| DVec3::new(2.0 + f64::from(k), 2.0, 0.2)));
    let at = middle(&aside, 0.1).expect("it has points");
    assert!(at.length() < 0.3, "{at}");
}

#[test]
fn the_way_the_loop_opens_is_across_and_the_tails_are_up() {
    // Limbs end at x of -1 and 1, tails at z of 3.
    let strand = |side: f64| vec![DVec3::new(0.2 * side, 0.0, 3.0), DVec3::ZERO, DVec3::new(side, 0.0, 0.0)];
    let side = Side::of(&frame([strand(-1.0), strand(1.0)]), 0.1).expect("it has ends");
    assert!((side.right - DVec3::X).length() < 1e-12 && (side.up - DVec3::Z).length() < 1e-12, "{side:?}");
}

#[test]
fn every_end_has_its_words() {
    let curve = vec![Point { extension: 0.4, force: 1500.0, slip: 0.25, given: 0.3 }];
    let said = |end: End| {
        let pull = Pull { end, slip_limit: SLIP_MAX, holding_force: 2500.0, tails: [3.0; 2], curve: curve.clone() };
        result(English, &PullView { state: PullState::Done(Arc::new(pull)), ..PullView::default() })
    };
    assert_eq!(said(End::Opened), "The knot held 2.5 N, then slipped open");
    assert_eq!(said(End::Slipped), "The knot held 2.5 N, then slipped by more than 1.8 mm");
    assert!(said(End::Broke(knotwright::pull::Place::Knot)).ends_with("the thread broke at the knot"));
    assert!(said(End::Broke(knotwright::pull::Place::Limb)).ends_with("away from the knot"));
    let now = Frame { point: Some(curve[0]), ..crossing(0.1) };
    let view = PullView { frames: Arc::new(vec![now]), ..PullView::default() };
    assert_eq!(moment(English, &view), " 1.50 N at 0.40 mm   slipped 0.25 mm");
    assert_eq!(result(English, &view), "The knot is pulled: 1.50 N so far …");
}

#[test]
fn axes_have_round_numbers_and_not_too_many() {
    for end in [0.2, 0.56, 1.0, 3.3, 7.9, 12.0, 48.0] {
        let ticks = ticks(end);
        assert!((3..=8).contains(&ticks.len()), "{end}: {ticks:?}");
        assert!(ticks.iter().all(|tick| *tick <= end));
    }
}
