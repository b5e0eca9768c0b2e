//! Text in, experiment or problems out; and the rules between its fields.

use super::curve::{self, PointFiles};
use super::schema::{
    Contacts, Experiment, Formula, HoldKind, Key, Lie, Load, Place, Quantity, SectionSpec, Vector, When,
};
use super::shape::EXPERIMENT;
use crate::scenario::check::Findings;
use crate::scenario::nearest::did_you_mean;
use crate::scenario::parse::Language;
use crate::scenario::scan::Value;
use crate::scenario::{Problems, Severity};

/// The most steps of one experiment.
const STEPS_MAX: f64 = 2e6;

/// What a text turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The experiment, if no problem is an error.
    pub experiment: Option<Experiment>,
    /// Everything that is wrong, in the order of the text.
    pub problems: Problems,
}

/// Reads an experiment and finds everything that is wrong with it; `name` is the file's name as messages show it.
#[must_use]
pub fn read(name: &str, text: &str) -> Reading {
    let options = ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME);
    let language = Language { whole: "experiment", shape: &EXPERIMENT, options };
    let (experiment, problems) = language.read(name, text, check_rules);
    Reading { experiment, problems }
}

/// Reads an experiment that has to be in order.
///
/// # Errors
/// Every problem of the text.
pub fn parse(name: &str, text: &str) -> Result<Experiment, Problems> {
    let Reading { experiment, problems } = read(name, text);
    experiment.ok_or(problems)
}

fn check_rules(experiment: &Experiment, root: &Value, findings: &mut Findings) {
    let mut rules = Rules { experiment, root, findings };
    rules.names();
    rules.section();
    rules.threads();
    rules.tissue();
    rules.obstacles();
    rules.holds();
    rules.loads();
    rules.time();
    rules.measures();
    rules.derived();
    rules.results();
}

pub(super) struct Rules<'a> {
    pub(super) experiment: &'a Experiment,
    root: &'a Value,
    findings: &'a mut Findings,
}

impl Rules<'_> {
    pub(super) fn error(&mut self, field: &str, words: [impl Into<String>; 3]) {
        self.findings.note_field(Severity::Error, self.root, field, words);
    }

    /// Every list of names: each name once, of letters that every output can carry.
    fn names(&mut self) {
        let e = self.experiment;
        let list = |kind: &str, names: Vec<&str>| -> Vec<(String, String)> {
            let names = names.into_iter().enumerate();
            names.map(|(k, name)| (format!("{kind}[{k}].name"), name.to_owned())).collect()
        };
        let mut columns = list("measures", e.measures.iter().map(|m| m.name.as_str()).collect());
        columns.extend(list("derived", e.derived.iter().map(|d| d.name.as_str()).collect()));
        for names in [
            list("threads", e.threads.iter().map(|t| t.name.as_str()).collect()),
            list("obstacles", e.obstacles.iter().map(|o| o.name.as_str()).collect()),
            list("holds", e.holds.iter().map(|h| h.name.as_str()).collect()),
            list("tissue.holes", e.tissue.iter().flat_map(|t| &t.holes).map(|h| h.name.as_str()).collect()),
            list("tissue.needles", e.tissue.iter().flat_map(|t| &t.needles).map(|n| n.name.as_str()).collect()),
            list("events", e.events.iter().map(|v| v.name.as_str()).collect()),
            columns,
        ] {
            for (k, (field, name)) in names.iter().enumerate() {
                let plain = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
                if !plain || name == "time" {
                    let hint = "names become columns and keys";
                    self.error(field, [&format!("{name:?}"), "small letters, digits and _, not \"time\"", hint]);
                } else if names[..k].iter().any(|(_, other)| other == name) {
                    self.error(field, [&format!("{name:?} again"), "a name of its own", ""]);
                }
            }
        }
    }

    /// Notes a name that is none of `known`.
    pub(super) fn refer<'n>(&mut self, field: &str, name: &str, known: impl Iterator<Item = &'n str>) {
        let known: Vec<&str> = known.collect();
        if !known.contains(&name) {
            let allowed = if known.is_empty() { "nothing: there is none".to_owned() } else { known.join(", ") };
            self.error(field, [format!("{name:?}"), allowed, did_you_mean(name, &known)]);
        }
    }

    fn thread(&mut self, field: &str, name: &str) {
        let experiment = self.experiment;
        self.refer(field, name, experiment.threads.iter().map(|t| t.name.as_str()));
    }

    fn hold(&mut self, field: &str, name: &str, clamp: bool) {
        let experiment = self.experiment;
        self.refer(field, name, experiment.holds.iter().map(|h| h.name.as_str()));
        let pinned = experiment.holds.iter().any(|h| h.name == name && h.kind == HoldKind::Pin);
        if clamp && pinned {
            self.error(field, [&format!("{name:?}, a Pin"), "a Clamp", "a pin bears no torque and has no spin"]);
        }
    }

    fn obstacle(&mut self, field: &str, name: &str) {
        let experiment = self.experiment;
        self.refer(field, name, experiment.obstacles.iter().map(|o| o.name.as_str()));
    }

    fn column(&mut self, field: &str, name: &str, derived: usize) {
        let experiment = self.experiment;
        let derived = experiment.derived[..derived].iter().map(|d| d.name.as_str());
        self.refer(field, name, experiment.measures.iter().map(|m| m.name.as_str()).chain(derived));
    }

    fn direction(&mut self, field: &str, direction: Vector) {
        if curve::vector(direction).length() < 1e-9 {
            self.error(field, ["(0, 0, 0)", "a direction", ""]);
        }
    }

    /// A thread and a place on it.
    pub(super) fn spot(&mut self, at: &str, [thread_field, place_field]: [&str; 2], thread: &str, place: Place) {
        self.thread(&format!("{at}.{thread_field}"), thread);
        if let (Place::At { along_mm }, Some(length)) = (place, self.length(thread))
            && along_mm > length + 1e-6
        {
            let field = format!("{at}.{place_field}.along_mm");
            self.error(&field, [&format!("{along_mm}"), &format!("0 to {length:.6} mm"), "the thread is no longer"]);
        }
    }

    /// Length of a thread that can be known from this text alone [mm].
    fn length(&self, name: &str) -> Option<f64> {
        let thread = self.experiment.threads.iter().find(|t| t.name == name)?;
        let points = curve::nodes(thread, &PointFiles::new())?;
        Some(points.windows(2).map(|p| p[0].distance(p[1])).sum())
    }

    fn section(&mut self) {
        let experiment = self.experiment;
        if experiment.section.is_none() && !experiment.threads.is_empty() {
            self.error("section", ["missing", "Numbers(..) or Material(..)", "what every thread is made of"]);
        }
        if let Some(SectionSpec::Material { name, size, wet, .. }) = &experiment.section
            && crate::material::find(name, size, *wet).is_none()
        {
            let allowed = super::build::known_threads();
            self.error("section.name", [format!("{name:?} of size {size:?}"), allowed, String::new()]);
        }
        if let Some(SectionSpec::Numbers { axial_stiffness_n, force_strain, .. }) = &experiment.section
            && super::build::force_strain(*axial_stiffness_n, force_strain).is_none()
        {
            let points: Vec<String> = force_strain.iter().map(|p| format!("{} N at {}", p.force_n, p.strain)).collect();
            let hint = "axial_stiffness_n is at most three times the slope to the first point";
            self.error("section.force_strain", [&points.join(", "), "rising strain and force", hint]);
        }
    }

    fn threads(&mut self) {
        let experiment = self.experiment;
        for (k, thread) in experiment.threads.iter().enumerate() {
            let drawn = curve::nodes(thread, &PointFiles::new());
            let at = format!("threads[{k}]");
            if drawn.is_none() && !matches!(thread.shape, Lie::Points { .. }) {
                let hint = "ends apart, starts off the axis, axes and directions not zero nor along the thread";
                self.error(&format!("{at}.shape"), ["without length or direction", "a curve", hint]);
            }
            if let Some(nodes) = drawn
                && nodes.len() > 20_000
            {
                let field = format!("{at}.segment_mm");
                self.error(&field, [&format!("{} nodes", nodes.len()), "20000 nodes", "longer segments"]);
            }
            if let Some(fine) = thread.contact_segment_mm.filter(|&fine| fine > thread.segment_mm) {
                let allowed = format!("at most segment_mm, {}", thread.segment_mm);
                self.error(&format!("{at}.contact_segment_mm"), [format!("{fine}"), allowed, String::new()]);
            }
        }
    }

    fn obstacles(&mut self) {
        let experiment = self.experiment;
        for (k, obstacle) in experiment.obstacles.iter().enumerate() {
            let at = format!("obstacles[{k}]");
            self.motion(&at, &obstacle.motion, obstacle.turn_axis, None);
            if let super::schema::Solid::Plane { normal, .. } = obstacle.shape {
                self.direction(&format!("{at}.shape.normal"), normal);
                if obstacle.turn_axis.is_some() {
                    self.error(&format!("{at}.turn_axis"), ["given", "no turn of a Plane", "planes only shift"]);
                }
            }
            if let super::schema::Solid::Torus { axis, .. } = obstacle.shape {
                self.direction(&format!("{at}.shape.axis"), axis);
            }
        }
    }

    /// Keys in order, with an axis to turn about, and slow enough that nothing is jumped over.
    fn motion(&mut self, at: &str, keys: &[Key], axis: Option<Vector>, kind: Option<HoldKind>) {
        if let Some(axis) = axis {
            self.direction(&format!("{at}.turn_axis"), axis);
        }
        self.ascending(&format!("{at}.motion"), keys.iter().map(|key| key.at_ms));
        for (k, key) in keys.iter().enumerate() {
            let field = format!("{at}.motion[{k}]");
            if key.turn_deg != 0.0 && axis.is_none() {
                self.error(&format!("{field}.turn_deg"), [&key.turn_deg.to_string(), "0 without turn_axis", ""]);
            }
            if key.spin_turns != 0.0 && kind != Some(HoldKind::Clamp) {
                let found = key.spin_turns.to_string();
                self.error(&format!("{field}.spin_turns"), [&found, "0", "only a Clamp spins the thread"]);
            }
            let before = if k == 0 { Key::default() } else { keys[k - 1] };
            let way = (curve::vector(key.shift_mm) - curve::vector(before.shift_mm)).length();
            let time = key.at_ms - before.at_ms;
            if time <= 0.0 && k > 0 {
                continue;
            }
            self.slow(&format!("{field}.shift_mm"), way / time.max(1e-9));
        }
    }

    /// Notes a speed [mm/ms] at which one step could carry a thread into what it should meet.
    fn slow(&mut self, field: &str, speed: f64) {
        let experiment = self.experiment;
        let meets = !experiment.obstacles.is_empty() || experiment.threads.len() > 1;
        let Some(radius) = experiment.section.as_ref().and_then(super::build::radius_mm) else { return };
        let step = speed * experiment.time.step_ms;
        if meets && step > radius * (1.0 + 1e-9) {
            let allowed = format!("at most the thread's radius {radius} mm in a step");
            self.error(field, [&format!("a motion of {step:.4} mm in a step"), &allowed, "shorter steps, or slower"]);
        }
    }

    pub(super) fn ascending(&mut self, field: &str, times: impl Iterator<Item = f64>) {
        let times: Vec<f64> = times.collect();
        for (k, pair) in times.windows(2).enumerate() {
            if pair[0] >= pair[1] {
                let found = format!("{} after {}", pair[1], pair[0]);
                self.error(&format!("{field}[{}].at_ms", k + 1), [&found, "later than the key before", ""]);
            }
        }
    }

    fn holds(&mut self) {
        let experiment = self.experiment;
        for (k, hold) in experiment.holds.iter().enumerate() {
            let at = format!("holds[{k}]");
            self.spot(&at, ["thread", "place"], &hold.thread, hold.place);
            self.motion(&at, &hold.motion, hold.turn_axis, Some(hold.kind));
            if let Some(pull) = hold.pull {
                self.direction(&format!("{at}.pull.toward"), pull.toward);
                self.slow(&format!("{at}.pull.speed_mm_per_s"), pull.speed_mm_per_s * 1e-3);
            }
            let mine = super::build::held_nodes(experiment, hold);
            let other = experiment.holds[..k].iter().find(|other| {
                other.thread == hold.thread
                    && super::build::held_nodes(experiment, other).iter().any(|node| mine.contains(node))
            });
            if let Some(other) = other {
                let found = format!("where {:?} holds", other.name);
                self.error(&format!("{at}.place"), [&found, "a place of its own", ""]);
            }
        }
    }

    fn loads(&mut self) {
        let experiment = self.experiment;
        for (k, load) in experiment.loads.iter().enumerate() {
            let at = format!("loads[{k}]");
            match load {
                Load::Force { thread, place, keys } => {
                    self.spot(&at, ["thread", "place"], thread, *place);
                    self.ascending(&format!("{at}.keys"), keys.iter().map(|key| key.at_ms));
                }
                Load::Hole { hole, keys } => {
                    self.loaded_hole(&format!("{at}.hole"), hole);
                    self.ascending(&format!("{at}.keys"), keys.iter().map(|key| key.at_ms));
                }
                Load::Loop { holes, keys } => {
                    for (n, hole) in holes.iter().enumerate() {
                        self.loaded_hole(&format!("{at}.holes[{n}]"), hole);
                    }
                    self.ascending(&format!("{at}.keys"), keys.iter().map(|key| key.at_ms));
                }
                Load::Press { keys, .. } => {
                    self.ascending(&format!("{at}.keys"), keys.iter().map(|key| key.at_ms));
                }
                Load::Moment { thread, place, keys } => {
                    self.spot(&at, ["thread", "place"], thread, *place);
                    self.ascending(&format!("{at}.keys"), keys.iter().map(|key| key.at_ms));
                    if matches!(place, Place::At { .. }) {
                        self.error(&format!("{at}.place"), ["At(..)", "Start, End", "a moment acts on a last edge"]);
                    }
                }
            }
        }
    }

    fn time(&mut self) {
        let time = self.experiment.time;
        let steps = (time.duration_ms + time.settle_ms) / time.step_ms;
        if steps > STEPS_MAX {
            let found = format!("{} for {steps:.0} steps", time.step_ms);
            self.error("time.step_ms", [&found, &format!("at most {STEPS_MAX} steps"), "longer steps"]);
        }
        if time.step_ms > time.duration_ms {
            self.error("time.step_ms", [&time.step_ms.to_string(), "at most duration_ms", ""]);
        }
    }

    fn measures(&mut self) {
        let experiment = self.experiment;
        for (k, measure) in experiment.measures.iter().enumerate() {
            self.quantity(&format!("measures[{k}].of"), &measure.of);
        }
    }

    fn quantity(&mut self, at: &str, quantity: &Quantity) {
        if self.tissue_quantity(at, quantity) {
            return;
        }
        match quantity {
            Quantity::HoldForce { hold, along } | Quantity::HoldShift { hold, along } => {
                self.hold(&format!("{at}.hold"), hold, false);
                self.part(at, *along);
            }
            Quantity::HoldTorque { hold } | Quantity::HoldSpin { hold } => {
                self.hold(&format!("{at}.hold"), hold, true);
            }
            Quantity::ObstacleForce { obstacle, along } => {
                self.obstacle(&format!("{at}.obstacle"), obstacle);
                self.part(at, *along);
            }
            Quantity::ObstacleTurn { obstacle } => self.obstacle(&format!("{at}.obstacle"), obstacle),
            Quantity::Contact { of } | Quantity::Sliding { of } => self.contacts(&format!("{at}.of"), of),
            Quantity::Tension { thread, place }
            | Quantity::Strain { thread, place }
            | Quantity::Curvature { thread, place }
            | Quantity::TwistRate { thread, place }
            | Quantity::TwistMoment { thread, place } => self.spot(at, ["thread", "place"], thread, *place),
            Quantity::Position { thread, place, along } => {
                self.spot(at, ["thread", "place"], thread, *place);
                self.part(at, Some(*along));
            }
            Quantity::Displacement { thread, place, along } => {
                self.spot(at, ["thread", "place"], thread, *place);
                self.part(at, *along);
            }
            Quantity::Slope { thread, place, against } => {
                self.spot(at, ["thread", "place"], thread, *place);
                self.direction(&format!("{at}.against"), *against);
            }
            Quantity::Distance { thread, place, other_thread, other_place } => {
                self.spot(at, ["thread", "place"], thread, *place);
                self.spot(at, ["other_thread", "other_place"], other_thread, *other_place);
            }
            Quantity::Turning { thread, from, to } => {
                self.spot(at, ["thread", "from"], thread, *from);
                self.spot(at, ["thread", "to"], thread, *to);
            }
            Quantity::Twist { thread } | Quantity::Writhe { thread } | Quantity::Linking { thread } => {
                self.thread(&format!("{at}.thread"), thread);
            }
            Quantity::Winding { thread, other } => {
                self.thread(&format!("{at}.thread"), thread);
                self.thread(&format!("{at}.other"), other);
            }
            // What is left needs no name, or was looked at before.
            _ => {}
        }
    }

    pub(super) fn part(&mut self, at: &str, along: Option<Vector>) {
        if let Some(along) = along {
            self.direction(&format!("{at}.along"), along);
        }
    }

    fn contacts(&mut self, at: &str, contacts: &Contacts) {
        match contacts {
            Contacts::All => {}
            Contacts::Obstacle { name } => self.obstacle(&format!("{at}.name"), name),
            Contacts::Threads { first, second } => {
                self.thread(&format!("{at}.first"), first);
                self.thread(&format!("{at}.second"), second);
            }
            Contacts::Stretches { thread, .. } => self.thread(&format!("{at}.thread"), thread),
        }
    }

    fn derived(&mut self) {
        let experiment = self.experiment;
        for (k, derived) in experiment.derived.iter().enumerate() {
            let at = format!("derived[{k}].by");
            match &derived.by {
                Formula::Ratio { of, over } | Formula::LogRatio { of, over } => {
                    self.column(&format!("{at}.of"), of, k);
                    self.column(&format!("{at}.over"), over, k);
                }
                Formula::Difference { of, less } => {
                    self.column(&format!("{at}.of"), of, k);
                    self.column(&format!("{at}.less"), less, k);
                }
                Formula::Sum { of } => {
                    for (n, name) in of.iter().enumerate() {
                        self.column(&format!("{at}.of[{n}]"), name, k);
                    }
                }
                Formula::Scaled { of, .. }
                | Formula::Max { of, .. }
                | Formula::Min { of, .. }
                | Formula::Mean { of, .. } => self.column(&format!("{at}.of"), of, k),
            }
        }
    }

    fn results(&mut self) {
        let experiment = self.experiment;
        let all = experiment.derived.len();
        for (k, event) in experiment.events.iter().enumerate() {
            let measures = experiment.measures.iter().map(|m| m.name.as_str());
            self.refer(&format!("events[{k}].measure"), &event.measure, measures);
        }
        if let Some(plot) = &experiment.plot {
            if plot.x != "time" {
                self.column("plot.x", &plot.x, all);
            }
            for (k, name) in plot.y.iter().enumerate() {
                self.column(&format!("plot.y[{k}]"), name, all);
            }
        }
        for (k, expect) in experiment.expect.iter().enumerate() {
            self.column(&format!("expect[{k}].column"), &expect.column, all);
            match &expect.at {
                When::Event { name } => {
                    let events = experiment.events.iter().map(|v| v.name.as_str());
                    self.refer(&format!("expect[{k}].at.name"), name, events);
                }
                When::Time { ms } if *ms > experiment.time.duration_ms => {
                    let allowed = format!("0 to {} ms", experiment.time.duration_ms);
                    self.error(&format!("expect[{k}].at.ms"), [&ms.to_string(), &allowed, "the end of the experiment"]);
                }
                When::Time { .. } | When::Start | When::End => {}
            }
        }
    }
}
