//! What was changed about a scenario and is not saved, as a text that can be kept.

use super::draft::{Change, Draft, Edit};
use core::mem::discriminant;
use serde::{Deserialize, Serialize};

/// Changes of a draft, one after the other.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Edits(Vec<Edit>);

impl Edits {
    /// One change more. Of a value that is typed, only what it is in the end counts.
    pub fn push(&mut self, edit: Edit) {
        let typed = matches!(edit.change, Change::Text(_) | Change::Number(_) | Change::Part(..));
        let again = |last: &Edit| {
            let same_part = match (&last.change, &edit.change) {
                (Change::Part(last, _), Change::Part(now, _)) => last == now,
                (last, now) => discriminant(last) == discriminant(now),
            };
            last.path == edit.path && same_part
        };
        if typed && self.0.last().is_some_and(again) {
            self.0.pop();
        }
        self.0.push(edit);
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Carries them all out; what finds no value to change, changes nothing.
    pub fn apply(&self, draft: &mut Draft) {
        self.0.iter().for_each(|edit| draft.apply(edit));
    }

    /// The text that [`read`](Edits::read) reads.
    #[must_use]
    pub fn text(&self) -> String {
        let pretty = ron::ser::PrettyConfig::default();
        ron::ser::to_string_pretty(self, pretty).expect("paths and words can always be written")
    }

    /// The changes of a text.
    ///
    /// # Errors
    /// Where it is none, and why.
    pub fn read(text: &str) -> Result<Edits, String> {
        ron::from_str(text).map_err(|error| error.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edit(path: &str, change: Change) -> Edit {
        Edit { path: path.to_owned(), change }
    }

    #[test]
    fn typing_goes_on_in_one_change_and_all_else_is_another() {
        let number = |path: &str, text: &str| edit(path, Change::Number(text.to_owned()));
        let part = |part, text: &str| edit("site.edge_gap_mm", Change::Part(part, text.to_owned()));
        let given = [
            number("seed", "1"),
            number("seed", "12"),
            number("thread.length_mm", "12"),
            part(0, "1"),
            part(1, "1"),
            part(1, "1.5"),
            edit("task.throws", Change::Add),
            edit("task.throws", Change::Add),
        ];
        let mut edits = Edits::default();
        given.iter().cloned().for_each(|edit| edits.push(edit));
        let stays = [1, 2, 3, 5, 6, 7].map(|index: usize| given[index].clone());
        assert_eq!(edits.0, stays);
    }

    #[test]
    fn what_is_kept_is_read_as_it_was_whatever_was_typed() {
        let mut edits = Edits::default();
        edits.push(edit("title", Change::Text("a \"quote\", a \\ and\na line \u{fe0f}".to_owned())));
        edits.push(edit("seed", Change::Number(")] 1e".to_owned())));
        edits.push(edit("course", Change::Given(false)));
        edits.push(edit("limits.aids[0]", Change::AddNamed("{".to_owned())));
        assert_eq!(Edits::read(&edits.text()), Ok(edits));
        assert!(Edits::read("([(path: 1)])").is_err());
    }
}
