//! The report for a terminal, at most [`COLUMNS`] wide.

use super::{CAUTIONS, Report};
use crate::score::{CriterionMark, Score};

/// Width of the report in characters.
const COLUMNS: usize = 100;

/// Columns before a criterion's sentences, so that they stand under its title.
const INDENT: &str = "                          ";

/// The report as text, ending with a line break.
#[must_use]
pub fn text(report: &Report) -> String {
    let mut lines = Vec::new();
    heading(report, &mut lines);
    verdict(report.score, &mut lines);
    lines.push(String::new());
    lines.push("            mark  weight  criterion".to_owned());
    for criterion in &report.score.criteria {
        criterion_lines(criterion, &mut lines);
    }
    lines.push(String::new());
    wrap("One thing to change: ", "  ", &report.score.one_thing_to_change, &mut lines);
    lines.push(String::new());
    for caution in CAUTIONS {
        wrap("! ", "  ", caution, &mut lines);
    }
    lines.push(String::new());
    lines.join("\n")
}

fn heading(report: &Report, lines: &mut Vec<String>) {
    wrap("", "", report.scenario, lines);
    let speed =
        report.real_time_factor.map_or_else(String::new, |factor| format!(", simulated at {factor:.1} x real time"));
    wrap(
        "",
        "",
        &format!("Attempt of {:.1} s{speed}, digest {}", report.findings.duration.seconds(), report.digest),
        lines,
    );
    if let Some(site) = &report.score.site {
        wrap("", "", &site.sentence(), lines);
    }
    for stitch in &report.findings.stitches {
        let knot = stitch.knot.as_ref().map_or("no knot", |knot| knot.notation.as_str());
        let tension = stitch.loop_tension.map_or_else(String::new, |tension| {
            format!(", loop tension {:.2} N at the end and {:.2} N at most", tension.now_n(), tension.peak_n())
        });
        wrap("", "", &format!("Stitch: {knot}{tension}"), lines);
    }
    lines.push(String::new());
}

fn verdict(score: &Score, lines: &mut Vec<String>) {
    let verdict = if score.passed { "✓ PASSED" } else { "✗ FAILED" };
    lines.push(format!("{verdict}  total {:.1} of 100, pass mark {:.1}", score.total, score.pass_mark));
    for reason in &score.reasons {
        wrap("  ✗ ", "    ", reason, lines);
    }
}

/// How a criterion came out, as a sign and in a word.
pub(super) fn state(criterion: &CriterionMark) -> (&'static str, &'static str) {
    match (criterion.failed, criterion.fault) {
        (true, _) => ("✗", "failed"),
        (false, true) => ("~", "partly"),
        (false, false) => ("✓", "met"),
    }
}

fn criterion_lines(criterion: &CriterionMark, lines: &mut Vec<String>) {
    let (sign, state) = state(criterion);
    let when = criterion.seconds.map_or_else(String::new, |seconds| format!(" (at {seconds:.1} s)"));
    let required = if criterion.required { ", required" } else { "" };
    lines.push(format!(
        "  {sign} {state:<6}  {:.2}  {:>6.1}  {}{required}{when}",
        criterion.mark, criterion.weight, criterion.title
    ));
    wrap(INDENT, INDENT, &criterion.evidence, lines);
    wrap(INDENT, INDENT, &format!("Marked: {}.", criterion.band), lines);
    if !criterion.advice.is_empty() {
        wrap(&format!("{INDENT}Next time: "), INDENT, &criterion.advice, lines);
    }
}

/// Adds `sentence`, broken between words; the first line begins with `first`, the others with `rest`.
///
/// A word that is longer than a line keeps its length.
pub(crate) fn wrap(first: &str, rest: &str, sentence: &str, lines: &mut Vec<String>) {
    let mut line = first.to_owned();
    let mut empty = true;
    for word in sentence.split_whitespace() {
        if !empty && line.chars().count() + 1 + word.chars().count() > COLUMNS {
            lines.push(std::mem::replace(&mut line, rest.to_owned()));
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    lines.push(line);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_is_broken_between_words_and_none_is_lost() {
        let sentence = "four ".repeat(60);
        let mut lines = Vec::new();
        wrap("- ", "  ", &sentence, &mut lines);
        assert_eq!(lines.len(), 4, "19 words of 4 letters fit after 2 columns");
        assert!(lines.iter().all(|line| line.chars().count() <= COLUMNS));
        assert_eq!(lines.join(" ").matches("four").count(), 60);
    }
}
