//! How large a recording gets.

use super::{Event, header};
use knotwright::input::{HandCommand, TickCommand};
use knotwright::math::{DVec3, Pose, rotation, sin};
use knotwright::quantity::{TICKS_PER_SECOND, Tick};
use knotwright::record::{AttemptWriter, Digest, RecordedTick, digest_due};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

const FIVE_MINUTES_TICKS: u32 = 300 * TICKS_PER_SECOND;

/// A hand that reaches from point to point without ever resting, the instrument turning with it.
///
/// Each reach is of least jerk: Flash and Hogan 1985, J. Neurosci. 5:1688, point-to-point movement (from memory).
/// Reaches within a cube of 30 mm that take 0.8 to 2 s: common practice, no source.
struct Hand {
    random: ChaCha8Rng,
    from: [f64; 6],
    to: [f64; 6],
    start_s: f64,
    duration_s: f64,
}

impl Hand {
    fn new(seed: u64) -> Hand {
        Hand { random: ChaCha8Rng::seed_from_u64(seed), from: [0.0; 6], to: [0.0; 6], start_s: 0.0, duration_s: 0.0 }
    }

    /// The command at a time [s], with a tremor of this amplitude [mm] on every axis.
    fn command(&mut self, time_s: f64, tremor_mm: f64) -> HandCommand {
        if time_s >= self.start_s + self.duration_s {
            self.from = self.to;
            self.start_s = time_s;
            self.duration_s = self.random.random_range(0.8..2.0);
            // Three coordinates [mm], then three angles [rad].
            self.to = std::array::from_fn(|axis| {
                if axis < 3 { self.random.random_range(-15.0..15.0) } else { self.random.random_range(-0.6..0.6) }
            });
        }
        let t = (time_s - self.start_s) / self.duration_s;
        let share = t * t * t * (10.0 - 15.0 * t + 6.0 * t * t);
        let at: [f64; 6] = std::array::from_fn(|axis| self.from[axis] + share * (self.to[axis] - self.from[axis]));
        let tremor = |axis: f64| tremor_mm * sin(TREMOR_RAD_PER_S * time_s + axis);
        let position = DVec3::new(at[0] + tremor(0.0), at[1] + tremor(2.0), at[2] + tremor(4.0));
        let turned = rotation(DVec3::Z, at[3]) * rotation(DVec3::Y, at[4]) * rotation(DVec3::X, at[5]);
        HandCommand::new(Pose { position, rotation: turned }, 0.5)
    }
}

/// Nine swings a second, in the band of physiological tremor, 8 to 12 Hz (from memory).
const TREMOR_RAD_PER_S: f64 = 56.5;

/// Bytes of five minutes in which the right hand always moves and the left may.
fn recorded_bytes(left_moves: bool, tremor_mm: f64) -> usize {
    let (mut right, mut left) = (Hand::new(1), Hand::new(2));
    let resting = left.command(0.0, 0.0);
    let mut digest = Digest::new();
    let mut writer = AttemptWriter::<_, Event>::new(Vec::new(), &header()).expect("memory takes everything");
    for tick in (0..FIVE_MINUTES_TICKS).map(Tick) {
        digest.add(tick, &[&[tick.seconds()]]).expect("no NaN");
        let right = right.command(tick.seconds(), tremor_mm);
        let left = if left_moves { left.command(tick.seconds(), tremor_mm) } else { resting };
        let command = TickCommand { right, left, events: Vec::new() };
        let digest = digest_due(tick).then(|| digest.value());
        writer
            .push_tick(RecordedTick { command, digest, events: Vec::new(), sample: None })
            .expect("memory takes everything");
    }
    writer.finish().expect("memory takes everything").len()
}

/// Bytes of a second that do not depend on how the hands move: hash and length 36, a digest 9, nine bits for each of 14
/// moving columns in four runs 63, and the counts of everything else 8, which is 116.
const FRAME_BYTES: u32 = 116;

/// Bits a tick for a column that changes smoothly. What a third or fourth difference cannot predict is the rounding to
/// whole steps, multiplied by it: a deviation of sqrt(20 / 12) = 1.3 or sqrt(70 / 12) = 2.4 steps, 2.4 to 3.3 bits.
const SMOOTH_BITS: u32 = 3;

/// Bits a tick for a position that trembles by 50 steps: a second difference leaves at most 2.6 times as much, so +-100.
const TREMBLING_BITS: u32 = 7;

#[test]
fn five_minutes_of_moving_hands_fit_their_budget() {
    struct Case {
        name: &'static str,
        left_moves: bool,
        tremor_mm: f64,
        bits_per_tick: u32,
    }
    // Three columns of position and four of rotation for each hand that moves.
    let one = 7 * SMOOTH_BITS;
    let trembling = 6 * TREMBLING_BITS + 8 * SMOOTH_BITS;
    let cases = [
        Case { name: "one hand moves smoothly", left_moves: false, tremor_mm: 0.0, bits_per_tick: one },
        Case { name: "both hands move smoothly", left_moves: true, tremor_mm: 0.0, bits_per_tick: 2 * one },
        Case { name: "both hands move and tremble", left_moves: true, tremor_mm: 0.05, bits_per_tick: trembling },
    ];
    let sizes = cases.map(|case| {
        let budget = FIVE_MINUTES_TICKS / TICKS_PER_SECOND * FRAME_BYTES + FIVE_MINUTES_TICKS * case.bits_per_tick / 8;
        (case.name, recorded_bytes(case.left_moves, case.tremor_mm), budget as usize)
    });
    assert!(sizes.iter().all(|(_, bytes, budget)| bytes <= budget), "(hands, bytes, budget): {sizes:#?}");
    // A hand that never rests takes more than hands that tie, which rest while the thread is drawn.
    assert!(sizes[0].1 <= 100_000, "five minutes fit into 100 kB: {sizes:#?}");
}

#[test]
fn hands_at_rest_cost_less_than_a_byte_a_tick() {
    let command =
        TickCommand { right: Hand::new(1).command(0.5, 0.0), left: Hand::new(2).command(0.5, 0.0), events: Vec::new() };
    let mut writer = AttemptWriter::<_, Event>::new(Vec::new(), &header()).expect("memory takes everything");
    for _ in 0..FIVE_MINUTES_TICKS {
        let tick = RecordedTick { command: command.clone(), digest: None, events: Vec::new(), sample: None };
        writer.push_tick(tick).expect("memory takes everything");
    }
    let bytes = writer.finish().expect("memory takes everything").len();
    assert!(bytes < FIVE_MINUTES_TICKS as usize, "{bytes} bytes");
}
