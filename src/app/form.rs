//! The form of the case on stage: its draft, what is wrong with that, and the file that it writes.

use std::path::Path;

use bevy::prelude::*;

use super::stage::{FormSource, Stage};
use super::ui::{FormAction, FormView};
use super::words::Text;
use crate::report::explain_case;
use crate::scenario::{self, Draft, Edits, Problem, Severity};
use crate::score::Rubric;

/// First line of a file that the form has written, and may write over.
pub const FORM_MARK: &str =
    "Written by the form of `knotwright window --edit`, which writes over this file as long as this line is here.";

/// The form, while there is one.
#[derive(Resource, Debug, Clone, Default)]
pub struct Form {
    /// Whether it is to be seen.
    pub open: bool,
    /// What it was made of.
    source: Option<FormSource>,
    draft: Option<Draft>,
    /// What makes the draft of the source.
    edits: Edits,
    view: FormView,
}

impl Form {
    /// The form of a case; without one there is nothing to show.
    #[must_use]
    pub fn of(source: Option<FormSource>, open: bool) -> Form {
        let Some(source) = source else { return Form::default() };
        let mut draft = Draft::read(&source.text);
        let mut view = FormView { new_file: copy_of(&source.file), ..FormView::default() };
        let unsaved = source.unsaved.as_ref().filter(|_| source.own).map(|text| Edits::read(text));
        let edits = match unsaved {
            None => Edits::default(),
            Some(Ok(edits)) => {
                view.said = Some((true, Text::of("form-again")));
                edits
            }
            Some(Err(why)) => {
                view.said = Some((false, Text::why("form-unreadable", why)));
                Edits::default()
            }
        };
        edits.apply(&mut draft);
        let mut form = Form { open, source: Some(source), draft: Some(draft), edits, view };
        form.judge();
        form
    }

    /// Whether there is something to edit.
    #[must_use]
    pub fn is_there(&self) -> bool {
        self.source.is_some()
    }

    /// What there is to see of it.
    #[must_use]
    pub fn view(&self) -> &FormView {
        &self.view
    }

    /// The file may be another one by now: what is not saved stays, all else is read anew.
    pub fn follow(&mut self, source: Option<FormSource>) {
        if !self.view.changed && self.source != source {
            let anew = Form::of(source, self.open);
            let said = self.view.said.take().or_else(|| anew.view.said.clone());
            let view = FormView { said, ..self.view.clone() };
            *self = Form { view, ..anew };
            self.judge();
        }
    }

    /// Does what was asked for; the stage writes what is to be written.
    pub fn take(&mut self, action: FormAction, stage: &mut dyn Stage) {
        match action {
            FormAction::Edit(edit) => {
                let own = self.source.as_ref().is_some_and(|source| source.own);
                if let Some(draft) = self.draft.as_mut().filter(|_| own) {
                    draft.apply(&edit);
                    self.edits.push(edit);
                    self.view.said = None;
                    self.keep_unsaved(stage);
                    self.judge();
                }
            }
            FormAction::GiveUpChanges => {
                self.draft = self.source.as_ref().map(|source| Draft::read(&source.text));
                (self.edits, self.view.said) = (Edits::default(), None);
                self.keep_unsaved(stage);
                self.judge();
            }
            FormAction::NameFile(name) => self.view.new_file = name,
            FormAction::Save => {
                if let Some(source) = self.source.clone().filter(|source| source.own) {
                    self.write(&source.file, Some(source.on_disk), stage);
                }
            }
            FormAction::SaveAs => {
                let file = self.view.new_file.trim().to_owned();
                self.write(&file, None, stage);
            }
            FormAction::Close => self.open = false,
        }
    }

    /// Keeps what is not saved until it is, so that a window that is closed loses nothing.
    fn keep_unsaved(&mut self, stage: &mut dyn Stage) {
        let Some(source) = &mut self.source else { return };
        source.unsaved = (!self.edits.is_empty()).then(|| self.edits.text());
        if let Err(why) = stage.keep_unsaved(&source.file, source.unsaved.as_deref()) {
            self.view.said = Some((false, Text::why("form-not-kept", why)));
        }
    }

    /// Writes what is in order into a file, over what is there if it is as it was before.
    fn write(&mut self, file: &str, before: Option<String>, stage: &mut dyn Stage) {
        let (Some(source), Some((text, on_disk))) = (&self.source, self.texts_for(file)) else { return };
        if !self.view.problems.is_empty() {
            return;
        }
        self.view.said = Some(match stage.write_form(file, &on_disk, before.as_deref()) {
            Ok(()) => {
                let comment = scenario::opening_comment(&on_disk);
                let written = vec![("file", file.to_owned()), ("source", source.file.clone())];
                let key = if source.file == file { "form-written" } else { "form-made-from" };
                let own = FormSource { file: file.to_owned(), own: true, comment, on_disk, text, unsaved: None };
                // The file that it was read from has nothing unsaved any more: that is in this one.
                self.edits = Edits::default();
                self.keep_unsaved(stage);
                (self.source, self.view.new_file) = (Some(own), copy_of(file));
                (true, Text::Key(key, written))
            }
            Err(why) => (false, why.into()),
        });
        self.judge();
    }

    /// The text that says all of it.
    fn text(&self) -> Option<String> {
        let (source, draft) = (self.source.as_ref()?, self.draft.as_ref()?);
        Some(draft.text(&[head(source), said(source)].concat()))
    }

    /// The text that says all of it, and what a file is to hold: the one that it was read from with what is changed, or all
    /// anew where that cannot say it.
    fn texts_for(&self, file: &str) -> Option<(String, String)> {
        let (source, draft, all) = (self.source.as_ref()?, self.draft.as_ref()?, self.text()?);
        let alone = source.text == source.on_disk;
        // What a text extends is looked for beside it.
        let beside = Path::new(file).parent() == Path::new(&source.file).parent();
        let changed = (alone || beside).then(|| draft.text_in(&source.on_disk, &Draft::read(&source.text))).flatten();
        let Some(mut on_disk) = changed else { return Some((all.clone(), all)) };
        if scenario::opening_comment(&on_disk).first().is_none_or(|line| line != FORM_MARK) {
            on_disk = head(source).iter().map(|line| format!("// {line}\n")).collect::<String>() + &on_disk;
        }
        Some((if alone { on_disk.clone() } else { all }, on_disk))
    }

    /// Looks what is wrong with the draft, and what it says.
    fn judge(&mut self) {
        let (Some(source), Some(draft), Some(text)) = (&self.source, &self.draft, self.text()) else { return };
        let reading = scenario::read(&source.file, &text);
        let (errors, warnings): (Vec<Problem>, Vec<Problem>) =
            reading.problems.0.into_iter().partition(|problem| problem.severity == Severity::Error);
        let view = &mut self.view;
        (view.file, view.own, view.changed) = (source.file.clone(), source.own, !self.edits.is_empty());
        view.rows = draft.rows(&errors);
        view.problems = errors.iter().map(words).collect();
        view.warnings = warnings.iter().map(words).collect();
        let Some(scenario) = reading.scenario else { return };
        match Rubric::try_from(&scenario.rubric) {
            Ok(rubric) => view.sentences = explain_case(&scenario, &rubric, &said(source)),
            Err(problems) => view.problems.extend(problems.iter().map(ToString::to_string)),
        }
    }
}

/// What a file of the form begins with.
fn head(source: &FormSource) -> Vec<String> {
    let made_from = (!source.own).then(|| format!("Made from {}; what follows was said there.", source.file));
    std::iter::once(FORM_MARK.to_owned()).chain(made_from).collect()
}

/// What the file says before the case begins, without the line of the form.
fn said(source: &FormSource) -> Vec<String> {
    source.comment.iter().filter(|line| *line != FORM_MARK).cloned().collect()
}

/// A problem without its place in a file that is not written yet.
fn words(problem: &Problem) -> String {
    format!("{} {}", problem.field, problem.verdict())
}

/// A name for a copy of a file.
fn copy_of(file: &str) -> String {
    format!("{}_copy.ron", file.trim_end_matches(".ron"))
}
