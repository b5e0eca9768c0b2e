//! The film of an attempt: what is kept, and what is shown of it when.

use knotwright::app::Stage;
use knotwright::app::film::{EVERY, FRAMES_MAX, Film};
use knotwright::app::replay::Replay;
use knotwright::app::ui::ReplaySpeed;
use knotwright::quantity::{TICKS_PER_SECOND, Tick};
use knotwright::simulation::snapshot::Snapshot;

use super::fake::Fake;

fn frame(tick: u32) -> Snapshot {
    // Flaps would only make thousands of frames large.
    Snapshot { tick: Tick(tick), strands: Vec::new(), flaps: [(); 2].map(|()| empty_flap()), ..Fake::new().snapshot() }
}

fn empty_flap() -> knotwright::simulation::snapshot::FlapView {
    let mut flap = Fake::new().snapshot().flaps[0].clone();
    (flap.points, flap.blanch, flap.redness) = (Vec::new(), Vec::new(), Vec::new());
    flap
}

fn film(ticks: u32) -> Film {
    let mut film = Film::default();
    let first = frame(0);
    (0..=ticks).for_each(|tick| film.take(Snapshot { tick: Tick(tick), ..first.clone() }));
    film
}

fn shown(film: &Film, tick: u32) -> u32 {
    film.at(tick).expect("there are frames").tick.0
}

#[test]
fn any_moment_is_shown_by_the_last_frame_before_it_and_the_end_by_itself() {
    let film = film(101);
    assert_eq!([0, 1, 50, 51, 101, 5000].map(|tick| shown(&film, tick)), [0, 0, 50, 50, 101, 101]);
    assert_eq!(film.span(), Some([0, 101]));
    assert_eq!(Film::default().at(3), None);
}

#[test]
fn a_long_attempt_keeps_fewer_frames_a_second_and_still_all_of_its_length() {
    let kept = u32::try_from(FRAMES_MAX).expect("some thousands");
    let long = film(3 * kept * EVERY);
    assert!(long.len() <= FRAMES_MAX && long.len() > FRAMES_MAX / 3, "{} frames", long.len());
    assert_eq!(long.span(), Some([0, 3 * kept * EVERY]));
    // Evenly: four times as far apart as at first.
    for tick in [0, 1000, 2 * kept, 3 * kept * EVERY - 1] {
        assert_eq!(shown(&long, tick), tick - tick % (4 * EVERY), "tick {tick}");
    }
}

#[test]
fn a_frame_that_was_there_already_is_left_out() {
    let mut twice = film(40);
    (0..=40).for_each(|tick| twice.take(frame(tick)));
    assert_eq!(twice, film(40));
}

#[test]
fn a_replay_goes_at_its_speed_waits_where_the_film_ends_and_goes_where_it_is_sent() {
    let film = film(10 * TICKS_PER_SECOND);
    let mut replay = Replay::default();
    replay.open(true);
    for (speed, ticks) in ReplaySpeed::ALL.into_iter().zip([15, 30, 60, 120, 240]) {
        replay.seek(60);
        replay.set_speed(speed);
        replay.toggle(&film);
        replay.advance(1.0, &film);
        assert_eq!(replay.tick(), 60 + ticks, "{speed:?}");
    }
    replay.advance(100.0, &film);
    assert_eq!(replay.tick(), 10 * TICKS_PER_SECOND);
    assert!(!replay.view(&film).playing, "there is nothing more to play");
    replay.toggle(&film);
    assert_eq!(replay.tick(), 0, "played again from the beginning");
    replay.seek(17);
    replay.advance(1.0, &film);
    assert_eq!((replay.tick(), replay.view(&film).playing), (17, false), "it stays where it was sent");
}
