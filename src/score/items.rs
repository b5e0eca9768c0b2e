//! What the marks of a class say of the criteria themselves, as classical test theory does.
//!
//! Difficulty is the mean mark of a criterion, 0 to 1: the graded form of the share of correct answers, so that an easy
//! criterion has a high number (Crocker & Algina 1986, Introduction to Classical and Modern Test Theory, chapter 14;
//! from memory). Discrimination is the correlation of the criterion's mark with the rest of the total, the criterion
//! itself left out, because with it a criterion would correlate with itself (Henrysson 1963, Psychometrika 28:211; from
//! memory).

use super::Score;

/// Fewer attempts than these give no correlation: two points always lie on a line.
const ATTEMPTS_MIN: usize = 3;

/// Spread below which marks count as all alike: they are rounded to hundredths.
const SPREAD_MIN: f64 = 1e-9;

/// One criterion over the attempts of a class.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Name of the criterion.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// Attempts that were marked by it.
    pub count: usize,
    /// Attempts that failed it.
    pub failed: usize,
    /// Mean mark, 0 to 1.
    pub difficulty: f64,
    /// Correlation of the mark with the weighted mean of the other marks, -1 to 1; `None` if there are too few attempts,
    /// or if one of the two is the same in all of them.
    pub discrimination: Option<f64>,
}

/// The criteria of these scores, in the order in which they first come.
#[must_use]
pub fn items(scores: &[&Score]) -> Vec<Item> {
    let mut names: Vec<(&str, &str)> = Vec::new();
    for criterion in scores.iter().flat_map(|score| &score.criteria) {
        if !names.iter().any(|&(id, _)| id == criterion.id) {
            names.push((&criterion.id, &criterion.title));
        }
    }
    names.into_iter().map(|(id, title)| item(id, title, scores)).collect()
}

fn item(id: &str, title: &str, scores: &[&Score]) -> Item {
    let marked = scores.iter().filter_map(|score| Some((score, score.criteria.iter().find(|c| c.id == id)?)));
    let (mut marks, mut rests, mut failed) = (Vec::new(), Vec::new(), 0);
    for (score, criterion) in marked {
        marks.push(criterion.mark);
        rests.push(rest(score, id));
        failed += usize::from(criterion.failed);
    }
    Item {
        id: id.to_owned(),
        title: title.to_owned(),
        count: marks.len(),
        failed,
        difficulty: mean(&marks),
        discrimination: correlation(&marks, &rests),
    }
}

/// Weighted mean of all marks but one; 0 if there are no others.
fn rest(score: &Score, id: &str) -> f64 {
    let others = || score.criteria.iter().filter(|criterion| criterion.id != id);
    let weight: f64 = others().map(|criterion| criterion.weight).sum();
    let sum: f64 = others().map(|criterion| criterion.weight * criterion.mark).sum();
    if weight > 0.0 { sum / weight } else { 0.0 }
}

fn mean(values: &[f64]) -> f64 {
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}

/// Product-moment correlation.
fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    if a.len() < ATTEMPTS_MIN {
        return None;
    }
    let (mean_a, mean_b) = (mean(a), mean(b));
    let sum = |of: &dyn Fn(f64, f64) -> f64| a.iter().zip(b).map(|(&a, &b)| of(a - mean_a, b - mean_b)).sum::<f64>();
    let [both, of_a, of_b] = [sum(&|a, b| a * b), sum(&|a, _| a * a), sum(&|_, b| b * b)];
    (of_a > SPREAD_MIN && of_b > SPREAD_MIN).then(|| (both / (of_a * of_b).sqrt()).clamp(-1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_correlation_is_that_of_a_published_example_and_none_without_spread() {
        // Four data sets whose correlation is 0.816 each: Anscombe 1973, Am Stat 27:17; the first of them.
        let x = [10.0, 8.0, 13.0, 9.0, 11.0, 14.0, 6.0, 4.0, 12.0, 7.0, 5.0];
        let y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68];
        let found = correlation(&x, &y).expect("both spread");
        // He prints it with three decimals.
        assert!((found - 0.816).abs() < 5e-4, "{found}");
        assert_eq!(correlation(&[1.0, 1.0, 1.0], &[0.1, 0.2, 0.3]), None);
        assert_eq!(correlation(&[1.0, 0.0], &[1.0, 0.0]), None, "two attempts say nothing");
    }
}
