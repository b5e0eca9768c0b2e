//! Scenarios with mistakes that nobody thought of: never a panic, never a meaningless value that goes through.
//!
//! What is meaningless is said here once more, from the documentation of the fields and not from the checks.

use super::{ron_files, shipped_text, whole};
use crate::slow;
use knotwright::material;
use knotwright::scenario::{Scenario, parse, read};
use knotwright::score::Rubric;
use knotwright::simulation::attempt::Attempt;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::Value;

/// Pieces of a text: words, numbers, quoted texts, comments, single signs, and what is between them.
fn pieces(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(first) = chars.next() {
        let mut piece = String::from(first);
        let plain = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.');
        if first == '"' {
            while let Some(c) = chars.next() {
                piece.push(c);
                if c == '\\' {
                    piece.extend(chars.next());
                } else if c == '"' {
                    break;
                }
            }
        } else if first == '/' && chars.peek() == Some(&'/') {
            while chars.peek().is_some_and(|c| *c != '\n') {
                piece.extend(chars.next());
            }
        } else {
            let alike: fn(char) -> bool = if first.is_whitespace() { char::is_whitespace } else { |_| true };
            while chars.peek().is_some_and(|c| {
                (plain(first) && plain(*c)) || (first.is_whitespace() && c.is_whitespace() && alike(*c))
            }) {
                piece.extend(chars.next());
            }
        }
        pieces.push(piece);
    }
    pieces
}

fn is_space(piece: &str) -> bool {
    piece.trim().is_empty() || piece.starts_with("//")
}

fn is_number(piece: &str) -> bool {
    piece.starts_with(|c: char| c.is_ascii_digit())
}

fn is_name(piece: &str) -> bool {
    piece.starts_with(|c: char| c.is_alphabetic() || c == '"')
}

/// Makes one mistake in a text; says which.
fn mistake(pieces: &mut Vec<String>, random: &mut ChaCha8Rng) -> String {
    let places = |which: fn(&str) -> bool| -> Vec<usize> {
        (0..pieces.len()).filter(|&place| !is_space(&pieces[place]) && which(&pieces[place])).collect()
    };
    let (all, numbers, names) = (places(|_| true), places(is_number), places(is_name));
    let any = *all.choose(random).expect("there is some piece");
    let number = numbers.choose(random).copied().unwrap_or(any);
    let name = names.choose(random).copied().unwrap_or(any);
    let value = |place: usize, pieces: &[String]| pieces[place].parse::<f64>().unwrap_or(1.0);
    let (place, new) = match random.random_range(0..14) {
        0 => (any, String::new()),
        1 => (any, format!("{0} {0}", pieces[any])),
        2 => {
            let other = *all.choose(random).expect("there is some piece");
            pieces.swap(any, other);
            return format!("pieces {any} and {other} swapped");
        }
        3 => (number, format!("{:?}", value(number, pieces) * *[1e-6, 0.1, 10.0, 1e3].choose(random).expect("some"))),
        4 => (number, format!("-{}", pieces[number])),
        5 => (number, (*["1e308", "1e400", "999999999999999999999", "1e-320"].choose(random).expect("some")).into()),
        6 => (
            number,
            (*["NaN", "inf", "-inf", "-0.0", "0", "0x7F", "1_0", "+1", "1e2"].choose(random).expect("some")).into(),
        ),
        7 => (number, format!("\"{}\"", pieces[number])),
        8 => (name, (*["7", "true", "Some(3)", "None", "()", "[]", "{}", "\"\""].choose(random).expect("some")).into()),
        9 => {
            let mut letters: Vec<char> = pieces[name].chars().collect();
            let at = random.random_range(0..letters.len());
            letters[at] = random.random_range('a'..='z');
            (name, letters.into_iter().collect())
        }
        10 => (name, pieces[name].to_uppercase()),
        11 => (
            any,
            (*["(", ")", "[", "]", "{", "}", ",", ":", "\"", "\\", "\0", "/*", "#"].choose(random).expect("some"))
                .into(),
        ),
        12 => (number, format!("Range({0}, {0})", pieces[number])),
        _ => {
            // A field with all that belongs to it, up to the next comma, once more somewhere else.
            let end = (any..pieces.len()).find(|&place| pieces[place] == ",").unwrap_or(any);
            let copied: Vec<String> = pieces[any..=end].to_vec();
            let target = *all.choose(random).expect("there is some piece");
            let what = format!("pieces {any} to {end} repeated before {target}: {copied:?}");
            pieces.splice(target..target, copied);
            return what;
        }
    };
    let what = format!("piece {place}, `{}`, became `{new}`", pieces[place]);
    pieces[place] = new;
    what
}

/// What the documentation of `knotwright::scenario::schema` says each number may be, by the end of its path.
const DOCUMENTED: &[(&str, f64, f64)] = &[
    ("/format", 1.0, 1.0),
    ("/seed", 0.0, 9_007_199_254_740_991.0),
    ("/site/tooth", 11.0, 48.0),
    ("/site/socket/mesiodistal_mm", 3.0, 15.0),
    ("/site/socket/buccolingual_mm", 3.0, 15.0),
    ("/site/edge_gap_mm", 0.0, 12.0),
    ("/site/flap/thickness_mm", 0.5, 4.0),
    ("/site/flap/height_mm", 4.0, 20.0),
    ("/site/flap/length_mm", 8.0, 40.0),
    ("/site/flap/modulus_kpa", 60.0, 8900.0),
    ("/site/flap/quality", 0.4, 1.0),
    ("/site/membrane/overlap_mm", 0.0, 5.0),
    ("/site/membrane/thickness_mm", 0.1, 1.0),
    ("/crown_width_mm", 4.0, 13.0),
    ("/crown_height_mm", 3.0, 13.0),
    ("/thread/length_mm", 80.0, 750.0),
    ("/needle/arc_eighths", 2.0, 5.0),
    ("/needle/length_mm", 8.0, 40.0),
    ("/needle/wire_mm", 0.2, 0.8),
    ("/hands/speed_cap_mm_per_s", 10.0, 500.0),
    ("/hands/force_cap_n", 1.0, 20.0),
    ("/task/stitches", 1.0, 6.0),
    ("/wraps", 1.0, 4.0),
    ("/task/bite_mm/min", 0.5, 6.0),
    ("/task/bite_mm/max", 0.5, 6.0),
    ("/task/tail_mm/min", 1.0, 15.0),
    ("/task/tail_mm/max", 1.0, 15.0),
    ("/rubric/pass_mark", 0.0, 100.0),
    ("/course/number", 1.0, 99.0),
    ("/weight", 0.0, 100.0),
    ("/full", -100.0, 1000.0),
    ("/zero", -100.0, 1000.0),
];

/// Everything in an accepted scenario that means nothing.
fn meaningless(scenario: &Scenario) -> Vec<String> {
    let value = serde_json::to_value(scenario).expect("plain data");
    let mut found = Vec::new();
    numbers(&value, "", &mut found);
    let (site, task, rubric) = (&scenario.site, &scenario.task, &scenario.rubric);
    let reach = site.socket.buccolingual_mm + 2.0 * site.membrane.overlap_mm;
    let weights: f64 = rubric.criteria.iter().map(|item| item.weight).sum();
    let upward = ["past_edge_mm", "near_mm", "overlap_mm", "force_n", "tension_mn"];
    let ramps = rubric.criteria.iter().flat_map(|item| &item.bands);
    let rules = [
        ("no such tooth", !(1..=8).contains(&(site.tooth % 10))),
        ("edges of a range swapped", site.edge_gap_mm.min() > site.edge_gap_mm.max()),
        ("edges of a range swapped", site.flap.thickness_mm.min() > site.flap.thickness_mm.max()),
        ("a membrane that does not reach under the flaps", site.edge_gap_mm.max() >= reach),
        ("a flap shorter than the socket", site.flap.length_mm < site.socket.mesiodistal_mm),
        ("a bite beyond the flap", task.bite_mm.max >= site.flap.height_mm),
        ("a bite of less than nothing", task.bite_mm.min > task.bite_mm.max),
        ("an end of less than nothing", task.tail_mm.min > task.tail_mm.max),
        ("no knot", task.throws.is_empty() || task.throws.len() > 8),
        ("nothing is marked", !(weights > 0.0 && weights.is_finite())),
        (
            "a full mark for the wrong end",
            ramps.clone().any(|(name, ramp)| {
                if upward.contains(&name.as_str()) { ramp.full <= ramp.zero } else { ramp.full >= ramp.zero }
            }),
        ),
        ("no such thread", material::find(&scenario.thread.material, &scenario.thread.size, true).is_none()),
        ("a demonstration elsewhere", scenario.demonstration.contains("..") || scenario.demonstration.starts_with('/')),
        ("no title", scenario.title.trim().is_empty() || scenario.case_text.trim().is_empty()),
        (
            "something marked twice",
            (1..rubric.criteria.len())
                .any(|k| rubric.criteria[..k].iter().any(|item| item.id == rubric.criteria[k].id)),
        ),
        ("a fault twice", (1..rubric.critical.len()).any(|k| rubric.critical[..k].contains(&rubric.critical[k]))),
    ];
    found.extend(rules.into_iter().filter(|(_, broken)| *broken).map(|(rule, _)| rule.to_owned()));
    found
}

/// Notes every number below `value` that the documentation does not allow; what is not a number comes as null.
fn numbers(value: &Value, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => fields.iter().for_each(|(name, value)| {
            // `Fixed` and `Range` have the limits of the field they stand in.
            let path = if matches!(name.as_str(), "Fixed" | "Range") { path.into() } else { format!("{path}/{name}") };
            numbers(value, &path, found);
        }),
        Value::Array(values) => values.iter().for_each(|value| numbers(value, path, found)),
        Value::Number(number) => {
            let number = number.as_f64().expect("any number is a float");
            match DOCUMENTED.iter().find(|(end, ..)| path.ends_with(end)) {
                Some((_, min, max)) if (*min..=*max).contains(&number) => {}
                Some((_, min, max)) => found.push(format!("{path} is {number}, documented {min} to {max}")),
                None => found.push(format!("{path} is {number}, and is documented nowhere")),
            }
        }
        Value::Null => found.push(format!("{path} is not a number")),
        Value::Bool(_) | Value::String(_) => {}
    }
}

/// The pieces that say something: all but spaces, comments, and commas before a closing sign; numbers by their value.
fn saying(pieces: &[String]) -> Vec<String> {
    let number = |piece: &str| piece.replace('_', "").parse::<f64>().map(|number| format!("{:?}", number + 0.0));
    let said: Vec<&String> = pieces.iter().filter(|piece| !is_space(piece)).collect();
    let trailing = |place: usize| {
        said[place] == "," && said.get(place + 1).is_some_and(|next| [")", "]", "}"].contains(&next.as_str()))
    };
    let plain = |place: usize| number(said[place]).unwrap_or_else(|_| said[place].clone());
    (0..said.len()).filter(|&place| !trailing(place)).map(plain).collect()
}

#[test]
fn what_the_oracle_calls_meaningless_is_not_shipped_and_is_found_where_it_is_put() {
    let mut scenario = parse("first", &shipped_text("first_stitch.ron")).expect("it is shipped");
    assert_eq!(meaningless(&scenario), [""; 0]);
    scenario.thread.length_mm = f64::NAN;
    scenario.task.bite_mm.min = 5.0;
    assert_eq!(meaningless(&scenario), ["/thread/length_mm is not a number", "a bite of less than nothing"]);
}

#[test]
fn no_mistake_makes_the_reading_fail_or_lets_a_meaningless_value_through() {
    let shipped: Vec<String> = ron_files("scenarios").iter().map(|file| whole(file).text).collect();
    let originals: Vec<Scenario> = shipped.iter().map(|text| parse("shipped", text).expect("in order")).collect();
    let (mut refused, mut accepted, mut begun) = (0, 0, 0);
    for seed in 0..slow::runs([2000, 2000, 200_000]) {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let which = random.random_range(0..shipped.len());
        let mut changed = pieces(&shipped[which]);
        let original = changed.clone();
        let whats: Vec<String> = (0..random.random_range(1..=2)).map(|_| mistake(&mut changed, &mut random)).collect();
        let text = changed.concat();
        // Case and rubric are what `scenario check` asks for, in this order.
        let reading = read("mutated.ron", &text);
        let Some(scenario) = reading.scenario.filter(|scenario| Rubric::try_from(&scenario.rubric).is_ok()) else {
            refused += 1;
            continue;
        };
        accepted += 1;
        let found = meaningless(&scenario);
        assert!(found.is_empty(), "seed {seed}: {whats:#?}\nis taken, but {found:#?}");
        let unheard = scenario == originals[which] && saying(&changed) != saying(&original);
        assert!(!unheard || !reading.problems.0.is_empty(), "seed {seed}: {whats:#?}\nchanges nothing");
        // What cannot begin says so, and does not fail.
        if begun < 40 {
            begun += 1;
            drop(Attempt::begin(&scenario));
        }
    }
    assert!(refused > accepted && accepted > 50, "{refused} refused, {accepted} taken");
}
