//! A scenario as a form, with what is wrong with it and what it says beside it.

use bevy_egui::egui::{self, Align2, Id, RichText, TextEdit, Vec2, WidgetInfo, WidgetType};

use super::file::line_of;
use super::{BAD, GOOD, MUTED, TRANSPORT, corner};
use crate::app::words::{Language, Text};
use crate::scenario::{Change, Control, Edit, Row};

/// Share of the screen's width that the fields take, and what stands beside them.
const FIELDS: f32 = 0.40;
const BESIDE: f32 = 0.28;

/// Width of a number's field [point].
const NUMBER: f32 = 70.0;

/// A line of the sentences that is as long as this goes on in the next.
const FULL_CHARS: usize = 75;

/// Text that may be longer than this takes the whole width.
const SHORT_CHARS: usize = 40;

/// Text that may be longer than this has several lines.
const LINE_CHARS: usize = 200;

/// Everything that the form shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FormView {
    /// The file that it was read from, or has written last.
    pub file: String,
    /// Whether the form wrote that file, so that it may write over it; else nothing is changed before a copy is made.
    pub own: bool,
    /// Whether something is not yet in the file.
    pub changed: bool,
    /// All fields.
    pub rows: Vec<Row>,
    /// Everything that is wrong, in the words of `scenario check`; empty if it is in order.
    pub problems: Vec<String>,
    /// What its author should know although it is in order.
    pub warnings: Vec<String>,
    /// The case in sentences, as `scenario explain` says it; as it was when it was in order last.
    pub sentences: String,
    /// Name of another file to write.
    pub new_file: String,
    /// What came of writing last: whether it was written, and what there is to say of it.
    pub said: Option<(bool, Text)>,
}

/// What was asked of the form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FormAction {
    /// Change a value.
    Edit(Edit),
    /// Write over its own file.
    Save,
    /// Go back to what is in the file.
    GiveUpChanges,
    /// Another name of the file to be written anew.
    NameFile(String),
    /// Write a new file of that name, and go on with it.
    SaveAs,
    /// Show the form no longer.
    Close,
}

/// The fields on the left, and on the right what is wrong and what the case says; `on_disk` is what is wrong with the file as it
/// is on the disk, which says what nobody knows before it is written, such as that it names a hand script that is not there.
pub fn show(ctx: &egui::Context, form: &FormView, on_disk: &str, out: &mut Vec<FormAction>) {
    let (margin, screen) = (12.0, ctx.content_rect().size());
    // What the corners take round what is in them, and the bar below.
    let height = screen.y - TRANSPORT - 5.0 * margin;
    corner(ctx, "form", Align2::LEFT_TOP, Vec2::splat(margin), |ui| {
        ui.set_width(screen.x * FIELDS - 3.0 * margin);
        head(ui, form, out);
        let left = (height - ui.min_rect().height()).max(80.0);
        scrolled(ui, left, |ui| rows(ui, &form.rows, &mut Fields { own: form.own, out }));
    });
    corner(ctx, "form_beside", Align2::RIGHT_TOP, Vec2::new(-margin, margin), |ui| {
        ui.set_width(screen.x * BESIDE - 3.0 * margin);
        scrolled(ui, height, |ui| beside(ui, form, on_disk));
    });
}

/// As high as what is in it, or as this.
fn scrolled(ui: &mut egui::Ui, height: f32, show: impl FnOnce(&mut egui::Ui)) {
    let area = egui::ScrollArea::vertical().max_height(height).min_scrolled_height(height);
    area.auto_shrink([false, true]).show(ui, show);
}

fn head(ui: &mut egui::Ui, form: &FormView, out: &mut Vec<FormAction>) {
    let language = Language::of(ui);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(&form.file).strong().size(16.0));
        if ui.button(language.say("form-close")).clicked() {
            out.push(FormAction::Close);
        }
        if form.own && ui.add_enabled(form.changed, egui::Button::new(language.say("form-give-up"))).clicked() {
            out.push(FormAction::GiveUpChanges);
        }
    });
    if !form.own {
        ui.label(language.say("form-by-hand"));
    }
    let in_order = form.problems.is_empty();
    ui.horizontal_wrapped(|ui| {
        if form.own && ui.add_enabled(in_order && form.changed, egui::Button::new(language.say("form-save"))).clicked()
        {
            out.push(FormAction::Save);
        }
        let label = ui.label(RichText::new(language.say("form-new-file")).color(MUTED));
        let mut name = form.new_file.clone();
        let field = ui.add(TextEdit::singleline(&mut name).id_salt("new_file").desired_width(200.0));
        if field.labelled_by(label.id).changed() {
            out.push(FormAction::NameFile(name));
        }
        let words = language.say(if form.own { "form-save-as" } else { "form-copy" });
        if ui.add_enabled(in_order, egui::Button::new(words)).clicked() {
            out.push(FormAction::SaveAs);
        }
    });
    // There is always such a line, so that no field moves away while something is typed in it.
    let (words, colour) = match form.problems.len() {
        0 if form.changed => (language.say("form-in-order-unsaved"), GOOD),
        0 => (language.say("form-in-order-saved"), MUTED),
        count => (language.tell("form-count-wrong", &[("count", count.to_string())]), BAD),
    };
    ui.label(RichText::new(words).color(colour));
    if let Some((written, said)) = &form.said {
        let (sign, colour) = if *written { ("✔", GOOD) } else { ("✖", BAD) };
        ui.label(RichText::new(format!("{sign} {}", language.word(said))).color(colour));
    }
    ui.separator();
}

fn beside(ui: &mut egui::Ui, form: &FormView, on_disk: &str) {
    let language = Language::of(ui);
    if !on_disk.is_empty() {
        ui.label(RichText::new(language.say("form-disk-wrong")).color(BAD).strong());
        on_disk.lines().for_each(|line| line_of(ui, line));
        ui.separator();
    }
    if form.problems.is_empty() {
        ui.label(RichText::new(language.say("form-in-order")).color(GOOD).strong());
    } else {
        ui.label(RichText::new(language.say("form-wrong")).color(BAD).strong());
        for problem in &form.problems {
            ui.label(problem);
        }
    }
    for warning in &form.warnings {
        ui.label(language.tell("form-warning", &[("warning", warning.clone())]));
    }
    ui.separator();
    let when = language.say(if form.problems.is_empty() { "form-says" } else { "form-said" });
    ui.label(RichText::new(when).strong());
    ui.label(RichText::new(unbroken(&form.sentences)).color(MUTED));
}

/// Lines that were broken for a terminal, as they run on: the panel breaks them where it ends.
fn unbroken(text: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut full = false;
    for line in text.lines() {
        match lines.last_mut() {
            Some(before) if full && !line.is_empty() => *before += &format!(" {}", line.trim_start()),
            _ => lines.push(line.to_owned()),
        }
        full = line.chars().count() >= FULL_CHARS;
    }
    lines.join("\n")
}

/// What the fields may ask for.
struct Fields<'a> {
    /// Whether they may be changed: a file that somebody wrote by hand stays as it is, and can be looked at.
    own: bool,
    out: &'a mut Vec<FormAction>,
}

impl Fields<'_> {
    fn edit(&mut self, row: &Row, change: Change) {
        self.out.push(FormAction::Edit(Edit { path: row.path.clone(), change }));
    }
}

/// The text of a key with the name of a field in it.
fn named(ui: &egui::Ui, key: &str, name: &str) -> String {
    Language::of(ui).tell(key, &[("name", name.to_owned())])
}

fn rows(ui: &mut egui::Ui, rows: &[Row], fields: &mut Fields) {
    rows.iter().for_each(|row| one(ui, row, fields));
}

fn one(ui: &mut egui::Ui, row: &Row, fields: &mut Fields) {
    if row.optional {
        let mut given = row.control.is_some();
        let words = named(ui, if given { "form-given" } else { "form-left-out" }, &row.name);
        let switch = ui.add_enabled(fields.own, egui::Checkbox::new(&mut given, words));
        if switch.on_hover_text(row.hint).changed() {
            fields.edit(row, Change::Given(given));
        }
    }
    match &row.control {
        None => {}
        Some(Control::Group(inner)) => section(ui, row, |ui| rows(ui, inner, fields)),
        Some(Control::List(inner, min, max)) => section(ui, row, |ui| list(ui, row, inner, [*min, *max], fields)),
        Some(Control::Map(inner)) => section(ui, row, |ui| map(ui, row, inner, fields)),
        Some(control) => {
            let line = |ui: &mut egui::Ui| {
                let mut label = ui.label(&row.name);
                if !row.hint.is_empty() {
                    label = label.on_hover_text(row.hint);
                }
                simple(ui, row, control, &label, fields);
                ui.label(RichText::new(&row.allowed).color(MUTED));
            };
            ui.horizontal_wrapped(line);
        }
    }
    for problem in &row.problems {
        ui.label(RichText::new(format!("✖ {} {problem}", row.name)).color(BAD));
    }
}

/// A part that opens, with how much in it is not in order.
fn section(ui: &mut egui::Ui, row: &Row, show: impl FnOnce(&mut egui::Ui)) {
    let (count, few) = (row.problem_count(), row.rows().len() <= 2);
    let allowed = if row.allowed.is_empty() { String::new() } else { format!(" ({})", row.allowed) };
    let (mut title, mut name) = (RichText::new(format!("{}{allowed}", row.name)), row.name.clone());
    if count > 0 {
        title = RichText::new(format!("{}{allowed} ✖ {count}", row.name)).color(BAD);
        name = Language::of(ui).tell("form-section-wrong", &[("name", name), ("count", count.to_string())]);
    }
    let element = row.path.ends_with(']');
    let header = egui::CollapsingHeader::new(title).id_salt(&row.path).default_open(element && few).show(ui, |ui| {
        if !row.hint.is_empty() {
            ui.label(RichText::new(row.hint).color(MUTED));
        }
        show(ui);
    });
    let enabled = ui.is_enabled();
    header.header_response.widget_info(|| WidgetInfo::labeled(WidgetType::CollapsingHeader, enabled, &name));
}

fn list(ui: &mut egui::Ui, row: &Row, inner: &[Row], [min, max]: [usize; 2], fields: &mut Fields) {
    let (more, fewer) = (fields.own && inner.len() < max, fields.own && inner.len() > min);
    for (index, element) in inner.iter().enumerate() {
        ui.push_id(index, |ui| {
            one(ui, element, fields);
            let element = [("name", row.name.clone()), ("number", (index + 1).to_string())];
            let words = Language::of(ui).tell("form-remove-number", &element);
            if ui.add_enabled(fewer, egui::Button::new(words).small()).clicked() {
                fields.edit(row, Change::Remove(index));
            }
        });
    }
    if ui.add_enabled(more, egui::Button::new(named(ui, "form-add", &row.name))).clicked() {
        fields.edit(row, Change::Add);
    }
}

fn map(ui: &mut egui::Ui, row: &Row, inner: &[Row], fields: &mut Fields) {
    for element in inner {
        one(ui, element, fields);
        let remove = egui::Button::new(named(ui, "form-remove", &element.name)).small();
        if ui.add_enabled(fields.own, remove).clicked() {
            fields.edit(row, Change::RemoveNamed(element.name.clone()));
        }
    }
    ui.horizontal_wrapped(|ui| {
        let id = Id::new((&row.path, "new name"));
        let mut name = ui.data_mut(|data| data.get_temp::<String>(id)).unwrap_or_default();
        let label = ui.label(named(ui, "form-new-name", &row.name));
        let field = TextEdit::singleline(&mut name).id_salt(id).desired_width(140.0);
        ui.add_enabled(fields.own, field).labelled_by(label.id);
        let add = egui::Button::new(named(ui, "form-add", &row.name));
        if ui.add_enabled(fields.own && !name.trim().is_empty(), add).clicked() {
            fields.edit(row, Change::AddNamed(std::mem::take(&mut name).trim().to_owned()));
        }
        ui.data_mut(|data| data.insert_temp(id, name));
    });
}

/// The control of a value without others in it.
fn simple(ui: &mut egui::Ui, row: &Row, control: &Control, label: &egui::Response, fields: &mut Fields) {
    let words = |ui: &mut egui::Ui, text: &str, long: bool, width: f32, part: usize| {
        let mut text = text.to_owned();
        let field = if long { TextEdit::multiline(&mut text) } else { TextEdit::singleline(&mut text) };
        let field = ui.add_enabled(fields.own, field.id_salt((&row.path, part)).desired_width(width));
        let changed = field.labelled_by(label.id).on_hover_text(row.hint).changed();
        changed.then_some(text)
    };
    let change = match control {
        Control::Text(text, max) => {
            let width = if *max > SHORT_CHARS { f32::INFINITY } else { 160.0 };
            words(ui, text, *max > LINE_CHARS, width, 0).map(Change::Text)
        }
        Control::Number(text) => words(ui, text, false, NUMBER, 0).map(Change::Number),
        Control::Amount(numbers) => {
            let mut range = numbers.len() > 1;
            let typed = numbers.iter().enumerate().filter_map(|(part, number)| {
                words(ui, number, false, NUMBER, part).map(|text| Change::Part(part, text))
            });
            let typed = typed.last();
            let drawn = egui::Checkbox::new(&mut range, named(ui, "form-range", &row.name));
            let drawn = ui.add_enabled(fields.own, drawn).changed().then_some(Change::Range(range));
            typed.or(drawn)
        }
        Control::Choice(words, chosen) => {
            let mut picked = None;
            let choose = |ui: &mut egui::Ui| {
                let combo = egui::ComboBox::from_id_salt(&row.path).selected_text(chosen).show_ui(ui, |ui| {
                    for word in *words {
                        if ui.selectable_label(chosen == word, *word).clicked() {
                            picked = Some(Change::Choice((*word).to_owned()));
                        }
                    }
                });
                combo.response.labelled_by(label.id).on_hover_text(row.hint);
            };
            ui.add_enabled_ui(fields.own, choose);
            picked
        }
        Control::Switch(on) => {
            let mut on = *on;
            let words = Language::of(ui).say(if on { "form-yes" } else { "form-no" });
            let switch = ui.add_enabled(fields.own, egui::Checkbox::new(&mut on, words));
            let changed = switch.labelled_by(label.id).on_hover_text(row.hint).changed();
            changed.then_some(Change::Switch(on))
        }
        Control::Written(text) => {
            ui.label(text);
            None
        }
        Control::Group(_) | Control::List(..) | Control::Map(_) => None,
    };
    if let Some(change) = change {
        fields.edit(row, change);
    }
}
