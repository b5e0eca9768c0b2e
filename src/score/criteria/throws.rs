//! Throws as ordered: wraps and direction of each, none missing.

use crate::analysis::findings::{Findings, Stitch, Throw};
use crate::quantity::Tick;
use crate::said::{Said, number, said};
use crate::score::criterion::{Assessment, Band, Bands, COMMON_PRACTICE, Criterion, time};
use crate::score::per_stitch::over_stitches;
use crate::score::{OrderedThrow, TaskOrder};

/// Compares the throws read from the thread with those ordered, one by one.
#[derive(Debug, Clone, Copy)]
pub struct Throws;

const MISSING_COST: Band = Band {
    id: "missing_cost",
    default: 0.6,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "what each throw too few takes from the mark",
    // Gut needs 3 throws (Rosin & Robinson 1989, Vet Surg 18:269) or 4 (Silver et al 2016, J Oral Maxillofac Surg):
    // one too few of three is not safe, so by default it costs more than half.
    source: COMMON_PRACTICE,
};
const WRAPS_COST: Band = Band {
    id: "wraps_cost",
    default: 0.5,
    unit: "1",
    min: 0.0,
    max: 1.0,
    doc: "what each throw with other wraps takes from the mark",
    source: COMMON_PRACTICE,
};
const DIRECTION_COST: Band = Band {
    id: "direction_cost",
    default: 0.25,
    unit: "1",
    min: 0.0,
    max: 1.0,
    // A wrong direction matters by crossing its neighbours, which `laid_square` marks.
    doc: "what each throw turned the other way takes from the mark",
    source: COMMON_PRACTICE,
};
const EXTRA_ALLOWED: Band = Band {
    id: "extra_allowed",
    default: 1.0,
    unit: "1",
    min: 0.0,
    max: 10.0,
    doc: "throws too many that cost nothing",
    source: COMMON_PRACTICE,
};
const EXTRA_COST: Band = Band {
    id: "extra_cost",
    default: 0.1,
    unit: "1",
    min: 0.0,
    max: 1.0,
    // Silver et al 2016, J Oral Maxillofac Surg: no gain after 5 throws, only bulk.
    doc: "what each throw too many beyond those allowed takes from the mark",
    source: COMMON_PRACTICE,
};

impl Criterion for Throws {
    fn id(&self) -> &'static str {
        "throws"
    }

    fn title(&self) -> &'static str {
        "Throws as ordered"
    }

    fn doc(&self) -> &'static str {
        "The throws are read from the thread's shape and compared with the order one by one: how often the strand \
         goes round, which way it was carried, how many there are. Each difference takes its cost from the mark."
    }

    fn source(&self) -> &'static str {
        "throws needed: 3 in gut, Rosin & Robinson 1989, Vet Surg 18:269; 4 in an oral-surgery bench, Silver et al \
         2016, J Oral Maxillofac Surg; costs: common practice, no source"
    }

    fn bands(&self) -> &'static [Band] {
        &[MISSING_COST, WRAPS_COST, DIRECTION_COST, EXTRA_ALLOWED, EXTRA_COST]
    }

    fn assess(&self, findings: &Findings, order: &TaskOrder, bands: &Bands) -> Assessment {
        over_stitches(findings, order, |stitch| assess_stitch(stitch, order, bands))
    }
}

fn assess_stitch(stitch: &Stitch, order: &TaskOrder, bands: &Bands) -> Assessment {
    let Some(knot) = &stitch.knot else {
        return Assessment::missing(
            said!("mark-no-knot", "No knot was tied."),
            said!("mark-throws-tie", "Tie {notation}.", notation = Said::plain(order.notation())),
        );
    };
    if let Some(reason) = &knot.unclear {
        return Assessment::missing(
            said!("mark-throws-unclear", "The throws cannot be read: {reason}.", reason = Said::plain(reason)),
            said!("mark-draw-every-throw", "Draw every throw down snug and flat before the next one."),
        );
    }
    let differences = differences(&knot.throws, &order.throws, bands.of(&EXTRA_ALLOWED));
    let cost: f64 = differences.iter().map(|difference| difference.cost(bands)).sum();
    let last = knot.throws.last().map(|throw| throw.tick);
    let first_difference = differences.first();
    Assessment {
        mark: (1.0 - cost).clamp(0.0, 1.0),
        evidence: evidence(&knot.notation, &differences, order, last),
        value: Some((differences.len() as f64, "differences")),
        band: said!(
            "mark-throws-band",
            "1 less {missing} a missing throw, {wraps} for other wraps, {direction} for the other direction",
            missing = number(bands.of(&MISSING_COST), 2),
            wraps = number(bands.of(&WRAPS_COST), 2),
            direction = number(bands.of(&DIRECTION_COST), 2)
        ),
        advice: first_difference.map_or_else(Said::default, Difference::advice),
        tick: first_difference.map_or(last, |difference| difference.tick().or(last)),
        fault: first_difference.is_some(),
    }
}

/// One way in which the knot is not the one ordered. Throws are counted from 1.
enum Difference {
    Wraps { number: usize, read: Throw, ordered: OrderedThrow },
    Direction { number: usize, read: Throw, ordered: OrderedThrow },
    Missing { number: usize, ordered: OrderedThrow },
    Extra { number: usize, read: Throw },
}

fn differences(read: &[Throw], ordered: &[OrderedThrow], extra_allowed: f64) -> Vec<Difference> {
    let mut found = Vec::new();
    for (index, (&read, &ordered)) in read.iter().zip(ordered).enumerate() {
        let number = index + 1;
        if read.wraps != ordered.wraps {
            found.push(Difference::Wraps { number, read, ordered });
        }
        if read.direction != ordered.direction {
            found.push(Difference::Direction { number, read, ordered });
        }
    }
    for (index, &ordered) in ordered.iter().enumerate().skip(read.len()) {
        found.push(Difference::Missing { number: index + 1, ordered });
    }
    for (index, &read) in read.iter().enumerate().skip(ordered.len()) {
        let extra = index + 1 - ordered.len();
        if extra as f64 > extra_allowed {
            found.push(Difference::Extra { number: index + 1, read });
        }
    }
    found
}

impl Difference {
    fn cost(&self, bands: &Bands) -> f64 {
        bands.of(match self {
            Self::Wraps { .. } => &WRAPS_COST,
            Self::Direction { .. } => &DIRECTION_COST,
            Self::Missing { .. } => &MISSING_COST,
            Self::Extra { .. } => &EXTRA_COST,
        })
    }

    fn tick(&self) -> Option<Tick> {
        match self {
            Self::Wraps { read, .. } | Self::Direction { read, .. } | Self::Extra { read, .. } => Some(read.tick),
            Self::Missing { .. } => None,
        }
    }

    fn sentence(&self) -> Said {
        match *self {
            Self::Wraps { number, read, ordered } => said!(
                "mark-throws-wraps",
                "throw {number} (laid at {when}) has {read}, ordered {ordered}",
                number,
                when = time(read.tick),
                read = wraps(read.wraps),
                ordered = wraps(ordered.wraps)
            ),
            Self::Direction { number, read, ordered } => said!(
                "mark-throws-direction",
                "throw {number} (laid at {when}) was turned {read}, ordered {ordered}",
                number,
                when = time(read.tick),
                read = read.direction.said(),
                ordered = ordered.direction.said()
            ),
            Self::Missing { number, ordered } => said!(
                "mark-throws-missing",
                "throw {number} ({wraps} {direction}) is missing",
                number,
                wraps = ordered.wraps,
                direction = ordered.direction.said()
            ),
            Self::Extra { number, read } => said!(
                "mark-throws-extra",
                "throw {number} (laid at {when}) is one too many",
                number,
                when = time(read.tick)
            ),
        }
    }

    fn advice(&self) -> Said {
        match *self {
            Self::Wraps { number, ordered, .. } => said!(
                "mark-throws-advice-wraps",
                "Lay throw {number} with {wraps}.",
                number,
                wraps = wraps(ordered.wraps)
            ),
            Self::Direction { number, ordered, .. } => said!(
                "mark-throws-advice-direction",
                "Carry the long strand {direction} round the holder for throw {number}.",
                direction = ordered.direction.said(),
                number
            ),
            Self::Missing { number, ordered } => said!(
                "mark-throws-advice-missing",
                "Add throw {number}: {wraps}, {direction}.",
                number,
                wraps = wraps(ordered.wraps),
                direction = ordered.direction.said()
            ),
            Self::Extra { .. } => {
                said!("mark-throws-advice-extra", "Stop when the ordered throws are laid: more only add bulk.")
            }
        }
    }
}

fn wraps(count: u32) -> Said {
    match count {
        1 => said!("mark-throws-one-wrap", "1 wrap"),
        _ => said!("mark-throws-some-wraps", "{count} wraps", count),
    }
}

fn evidence(notation: &str, differences: &[Difference], order: &TaskOrder, last: Option<Tick>) -> Said {
    let (read, ordered) = (Said::plain(notation), Said::plain(order.notation()));
    match last {
        _ if !differences.is_empty() => said!(
            "mark-throws-differ",
            "Read {read}, ordered {ordered}: {differences}.",
            read,
            ordered,
            differences = Said::joined(differences.iter().map(Difference::sentence), "; ")
        ),
        Some(last) => said!(
            "mark-throws-read",
            "Read {read}, ordered {ordered}, the last throw laid at {when}.",
            read,
            ordered,
            when = time(last)
        ),
        None => said!("mark-throws-none", "Read {read}, ordered {ordered}.", read, ordered),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::findings::{Direction, Handedness, Knot};
    use crate::score::example::{check, findings, with_knot};

    fn third_toward(knot: &mut Knot) {
        knot.notation = "2=1x1".to_owned();
        knot.throws[2].direction = Direction::Toward;
        knot.throws[2].handedness = Handedness::Right;
    }

    #[test]
    fn the_ordered_knot_earns_everything() {
        check(&Throws, &findings(), "1.00", "Read 2=1=1, ordered 2=1=1, the last throw laid at 70.0 s.");
    }

    #[test]
    fn a_throw_turned_the_other_way_is_named() {
        let sentence = "Read 2=1x1, ordered 2=1=1: throw 3 (laid at 70.0 s) was turned toward, ordered away.";
        check(&Throws, &with_knot(third_toward), "0.75", sentence);
    }

    #[test]
    fn a_single_first_throw_is_named() {
        let single_first = |knot: &mut Knot| {
            knot.notation = "1=1=1".to_owned();
            knot.throws[0].wraps = 1;
        };
        let sentence = "Read 1=1=1, ordered 2=1=1: throw 1 (laid at 40.0 s) has 1 wrap, ordered 2 wraps.";
        check(&Throws, &with_knot(single_first), "0.50", sentence);
    }

    #[test]
    fn a_missing_throw_fails() {
        let two_throws = |knot: &mut Knot| {
            knot.notation = "2=1".to_owned();
            knot.throws.truncate(2);
        };
        check(&Throws, &with_knot(two_throws), "0.40", "Read 2=1, ordered 2=1=1: throw 3 (1 away) is missing.");
    }

    #[test]
    fn one_extra_throw_is_neutral_and_a_second_is_not() {
        let fourth = |knot: &mut Knot| {
            knot.notation = "2=1=1=1".to_owned();
            knot.throws.push(Throw { tick: Tick(4320), ..knot.throws[1] });
        };
        check(&Throws, &with_knot(fourth), "1.00", "Read 2=1=1=1, ordered 2=1=1, the last throw laid at 72.0 s.");
        let fifth = |knot: &mut Knot| {
            fourth(knot);
            knot.notation.push_str("=1");
            knot.throws.push(Throw { tick: Tick(4500), ..knot.throws[2] });
        };
        let sentence = "Read 2=1=1=1=1, ordered 2=1=1: throw 5 (laid at 75.0 s) is one too many.";
        check(&Throws, &with_knot(fifth), "0.90", sentence);
    }

    #[test]
    fn a_knot_that_cannot_be_read_earns_nothing_and_says_why() {
        let unclear =
            |knot: &mut Knot| knot.unclear = Some("the signature asks for 3 throws, the wraps for 2".to_owned());
        let sentence = "The throws cannot be read: the signature asks for 3 throws, the wraps for 2.";
        check(&Throws, &with_knot(unclear), "0.00", sentence);
    }
}
