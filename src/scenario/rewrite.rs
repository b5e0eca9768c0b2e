//! A draft written into the text that it was read from: only what is changed is written there, so that comments stay, and what
//! a text takes from the one it extends stays in that one.

use super::draft::{Draft, Node, quoted, written};
use super::scan::{Entry, Kind, Scan, Value, next_from, scan};
use super::shape::EXTENDS;

impl Draft {
    /// `text`, which reads as `before`, so that it reads as this draft. A comment stays if the field that it stands at stays; one
    /// above a value or beside it goes with it. If the text extends another one, it says what is changed and nothing else of that.
    ///
    /// `None` if no such text can say it: `text` cannot be read to its end, or it extends one that may give what is left out here.
    #[must_use]
    pub fn text_in(&self, text: &str, before: &Draft) -> Option<String> {
        let Scan { root, fault } = scan(text);
        if fault.is_some() {
            return None;
        }
        let chars: Vec<char> = text.chars().collect();
        let extends =
            matches!(&root.kind, Kind::Group { fields, .. } if fields.iter().any(|entry| entry.name == EXTENDS));
        let mut pen = Pen { chars: &chars, changes: Vec::new() };
        pen.value(&root, &before.root, &self.root, extends)?;
        Some(pen.written())
    }
}

/// What is changed about a text.
struct Pen<'a> {
    chars: &'a [char],
    /// The first character, the one after the last, and what stands there instead.
    changes: Vec<(usize, usize, String)>,
}

impl Pen<'_> {
    fn written(mut self) -> String {
        self.changes.sort_by_key(|(from, to, _)| (*from, *to));
        let (mut text, mut done) = (String::new(), 0);
        for (from, to, instead) in &self.changes {
            text.extend(&self.chars[done..*from]);
            text += instead;
            done = *to;
        }
        text.extend(&self.chars[done..]);
        text
    }

    /// Changes a value; `merged` if what it lacks is that of another text.
    fn value(&mut self, own: &Value, before: &Node, after: &Node, merged: bool) -> Option<()> {
        if before == after {
            return Some(());
        }
        match (&own.kind, before, after) {
            (Kind::Group { fields, .. }, Node::Group(before), Node::Group(after)) => {
                let (gone, new) = self.entries(fields, before, after, merged)?;
                self.parts(own, fields.iter().map(whole).collect(), gone, &Node::Group(new));
            }
            (Kind::Map(entries), Node::Map(before), Node::Map(after)) => {
                let (gone, new) = self.entries(entries, before, after, false)?;
                self.parts(own, entries.iter().map(whole).collect(), gone, &Node::Map(new));
            }
            (Kind::List(values), Node::List(before), Node::List(after)) => {
                let less = before.len().saturating_sub(after.len());
                let first = before.iter().zip(after).take_while(|(before, after)| before == after).count();
                let gone = |index: &usize| (first..first + less).contains(index);
                for (index, value) in values.iter().enumerate().filter(|(index, _)| !gone(index)) {
                    let now = if index < first { index } else { index - less };
                    self.value(value, before.get(index)?, &after[now], false)?;
                }
                let new = after.get(before.len()..).unwrap_or_default().to_vec();
                let parts = values.iter().map(|value| value.span).collect();
                self.parts(own, parts, (0..values.len()).filter(gone).collect(), &Node::List(new));
            }
            _ => {
                let instead = written(after, self.indent(own.span.0).len() / 4);
                self.changes.push((own.span.0, own.span.1, instead));
            }
        }
        Some(())
    }

    /// Changes those that stay; which ones go, by their numbers, and which ones are new.
    fn entries(
        &mut self,
        own: &[Entry],
        before: &[NamedNode],
        after: &[NamedNode],
        merged: bool,
    ) -> Option<(Vec<usize>, Vec<NamedNode>)> {
        if merged && !keeps_all(before, after) {
            return None;
        }
        let (mut gone, mut new) = (Vec::new(), Vec::new());
        for (index, entry) in own.iter().enumerate().filter(|(_, entry)| entry.name != EXTENDS) {
            match of_name(after, &entry.name) {
                Some(after) => self.value(&entry.value, of_name(before, &entry.name)?, after, merged)?,
                None => gone.push(index),
            }
        }
        for (name, after) in after.iter().filter(|(name, _)| own.iter().all(|entry| entry.name != *name)) {
            match of_name(before, name) {
                Some(before) if before == after => {}
                Some(before) => new.push((name.clone(), otherwise(before, after)?)),
                None => new.push((name.clone(), after.clone())),
            }
        }
        Some((gone, new))
    }

    /// Takes out of a group, a list or a map the parts of these numbers, and adds those of `new` behind the rest.
    fn parts(&mut self, own: &Value, parts: Vec<(usize, usize)>, gone: Vec<usize>, new: &Node) {
        let last = (0..parts.len()).rev().find(|index| !gone.contains(index));
        let depth = self.indent(own.span.0).len() / 4;
        let texts: Vec<String> = match new {
            Node::Group(new) => {
                new.iter().map(|(name, node)| format!("{name}: {}", written(node, depth + 1))).collect()
            }
            Node::Map(new) => {
                new.iter().map(|(name, node)| format!("{}: {}", quoted(name), written(node, depth + 1))).collect()
            }
            Node::List(new) => new.iter().map(|node| written(node, depth + 1)).collect(),
            _ => Vec::new(),
        };
        let Some(last) = last.map(|last| parts[last]) else {
            // Nothing of it stays.
            self.changes.push((own.span.0, own.span.1, written(new, depth)));
            return;
        };
        gone.into_iter().for_each(|index| self.take_out(parts[index]));
        if texts.is_empty() {
            return;
        }
        let (behind, comma) = self.behind(last.1);
        if let Some(line_end) = self.line_end(behind) {
            self.changes.extend((!comma).then(|| (last.1, last.1, ",".to_owned())));
            let indent = self.indent(last.0);
            let lines: String = texts.iter().map(|text| format!("\n{indent}{text},")).collect();
            self.changes.push((line_end, line_end, lines));
        } else {
            let added = if comma { format!(" {},", texts.join(", ")) } else { format!(", {}", texts.join(", ")) };
            self.changes.push((behind, behind, added));
        }
    }

    /// Takes a part out, with the comment beside it and the lines of comments above it if it has lines of its own.
    fn take_out(&mut self, (from, to): (usize, usize)) {
        let (behind, comma) = self.behind(to);
        let begins_line = self.chars[self.line_start(from)..from].iter().all(|c| c.is_whitespace());
        match self.line_end(behind).filter(|_| begins_line) {
            Some(line_end) => {
                let mut first = self.line_start(from);
                while first > 0 && self.is_comment(self.line_start(first - 1)) {
                    first = self.line_start(first - 1);
                }
                self.changes.push((first, (line_end + 1).min(self.chars.len()), String::new()));
            }
            None => {
                let is_space = |c: &&char| **c == ' ';
                let after = if comma { self.chars[behind..].iter().take_while(is_space).count() } else { 0 };
                let before = if comma { 0 } else { self.chars[..from].iter().rev().take_while(is_space).count() };
                self.changes.push((from - before, behind + after, String::new()));
            }
        }
    }

    /// Where the text goes on behind a part that ends there: behind its comma, if it has one, or behind a comment beside it.
    fn behind(&self, end: usize) -> (usize, bool) {
        let next = next_from(self.chars, end);
        if self.chars.get(next) == Some(&',') {
            return (next + 1, true);
        }
        let between = &self.chars[end..next];
        let beside = between.iter().rposition(|c| !c.is_whitespace()).filter(|_| !between.contains(&'\n'));
        (beside.map_or(end, |last| end + last + 1), false)
    }

    /// The end of the line, if nothing but a comment is between.
    fn line_end(&self, from: usize) -> Option<usize> {
        let rest: String = self.chars[from..].iter().take_while(|c| **c != '\n').collect();
        let only_comment = rest.trim().is_empty() || rest.trim_start().starts_with("//");
        only_comment.then(|| from + rest.chars().count())
    }

    fn line_start(&self, place: usize) -> usize {
        self.chars[..place].iter().rposition(|c| *c == '\n').map_or(0, |end| end + 1)
    }

    fn is_comment(&self, line_start: usize) -> bool {
        let line = self.chars[line_start..].iter().skip_while(|c| c.is_whitespace() && **c != '\n');
        line.take(2).eq(&['/', '/'])
    }

    /// What the line of a place begins with.
    fn indent(&self, place: usize) -> String {
        self.chars[self.line_start(place)..].iter().take_while(|c| **c == ' ').collect()
    }
}

type NamedNode = (String, Node);

fn of_name<'a>(nodes: &'a [NamedNode], name: &str) -> Option<&'a Node> {
    nodes.iter().find(|(known, _)| known == name).map(|(_, node)| node)
}

fn keeps_all(before: &[NamedNode], after: &[NamedNode]) -> bool {
    before.iter().all(|(name, _)| of_name(after, name).is_some())
}

/// What a text has to say so that `before`, which it extends, becomes `after`; `None` if something is left out.
fn otherwise(before: &Node, after: &Node) -> Option<Node> {
    let (Node::Group(before), Node::Group(after)) = (before, after) else { return Some(after.clone()) };
    if !keeps_all(before, after) {
        return None;
    }
    let changed = after.iter().filter(|(name, node)| of_name(before, name) != Some(node));
    let changed = changed.map(|(name, node)| {
        let node = of_name(before, name).map_or_else(|| Some(node.clone()), |before| otherwise(before, node))?;
        Some((name.clone(), node))
    });
    Some(Node::Group(changed.collect::<Option<Vec<_>>>()?))
}

/// Where an entry begins and ends.
fn whole(entry: &Entry) -> (usize, usize) {
    (entry.start, entry.value.span.1)
}
