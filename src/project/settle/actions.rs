//! From the actions of a rule by name to what they do by position.
//!
//! Not for which keys, timers and events have them; see [`super::rules`].

use super::rules::Settle;
use crate::behaviour::count::Count;
use crate::behaviour::{Action, Ends, FieldChange, How, Target};
use crate::elements::scope::no_field;
use crate::project::rules::{ActionSpec, ChangeSpec, FieldsSpec, GoSpec};
use crate::screen::ScreenId;
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::source::amount::At;
use crate::source::fault::Fault;
use crate::source::spans::Span;

impl Settle<'_, '_> {
    pub(super) fn each(&mut self, specs: &[At<ActionSpec>]) -> Vec<Action> {
        let mut actions = Vec::new();
        for spec in specs {
            let span = &spec.span;
            actions.extend(match &spec.value {
                ActionSpec::Change(change) => self.change(change, span),
                ActionSpec::Go(go) => self.go(go, span),
                ActionSpec::Open(name) => self.open(name, span),
                ActionSpec::Back(wanted) => wanted.then(|| self.back(span)).flatten(),
                ActionSpec::Close(wanted) => wanted.then(|| self.close(span)).flatten(),
                ActionSpec::Cancel(wanted) => wanted.then(|| self.cancel(span)).flatten(),
            });
        }
        actions
    }

    pub(super) fn cancel(&mut self, span: &Span) -> Option<Action> {
        if !self.edits {
            let fault = Fault::at(span.clone(), "there is nothing to cancel: this screen edits no fields");
            self.fault(fault.help("list them at the top of the screen: edit = [\"...\"]"));
            return None;
        }
        Some(Action::Cancel)
    }

    pub(super) fn back(&mut self, span: &Span) -> Option<Action> {
        // Over a screen it closes the box.
        if !self.names.entered[self.here.0] && !self.names.boxes[self.here.0] {
            let fault = Fault::at(span.clone(), "there is no way back: no other screen leads to this one");
            self.fault(fault.help("name the screen: go = \"...\""));
            return None;
        }
        Some(Action::Back)
    }

    pub(super) fn close(&mut self, span: &Span) -> Option<Action> {
        if !self.names.boxes[self.here.0] {
            let fault = Fault::at(span.clone(), "there is nothing to close: this is no box");
            self.fault(fault.help("a box has a table [box] with its place; a screen is left by `go` or `back`"));
            return None;
        }
        Some(Action::Close)
    }

    pub(super) fn open(&mut self, name: &str, span: &Span) -> Option<Action> {
        let screen = self.names.screen(&At { span: span.clone(), value: name.to_owned() }, self.faults)?;
        if !self.names.boxes[screen.0] {
            let fault = Fault::at(span.clone(), format!("`{name}` is a screen, not a box"));
            self.fault(fault.help(format!("write go = \"{name}\", or give it a table [box] with its place")));
            return None;
        }
        if screen == self.here {
            self.fault(
                Fault::at(span.clone(), "a box cannot open over itself").help("open another box, or close this one"),
            );
            return None;
        }
        Some(Action::Open(screen))
    }

    pub(super) fn go(&mut self, go: &GoSpec, span: &Span) -> Option<Action> {
        let screen = |name: &str, settle: &mut Self| {
            let found = settle.names.screen(&At { span: span.clone(), value: name.to_owned() }, settle.faults)?;
            if settle.names.boxes[found.0] {
                let fault = Fault::at(span.clone(), format!("`{name}` is a box: it stands over a screen"));
                settle.fault(fault.help(format!("write open = \"{name}\"")));
                return None;
            }
            Some(found)
        };
        match go {
            GoSpec::Screen(name) => screen(name, self).map(|found| Action::Go(Target::Screen(found))),
            GoSpec::By { by, to } => {
                let by = At { span: span.clone(), value: by.clone() };
                let Some(field) = self.names.field(&by) else {
                    self.fault(no_field(&by, self.names.fields));
                    return None;
                };
                let screens: Option<Vec<ScreenId>> = to.iter().map(|name| screen(name, self)).collect();
                let [low, high] = self.names.fields[field.0].range;
                if low != 0.0 || high != (to.len().max(1) - 1) as f64 {
                    let fault = Fault::at(span.clone(), format!("`{}` does not count these screens", by.value));
                    let fault = fault.label(format!("its range is {low} to {high}, the screens are {}", to.len()));
                    let fault = fault.rests_on(&self.names.fields[field.0].span);
                    self.fault(fault.help(format!("give the field range = [0, {}]", to.len().max(1) - 1)));
                    return None;
                }
                let rows = self.names.fields[field.0].within;
                screens.map(|screens| Action::Go(Target::By { field, screens, rows }))
            }
        }
    }

    pub(super) fn change(&mut self, spec: &ChangeSpec, span: &Span) -> Option<Action> {
        let names = spec.field.value.names();
        let several = matches!(spec.field.value, FieldsSpec::Several(_));
        let fields: Vec<Option<FieldId>> = names.iter().map(|name| self.found(name, &spec.field.span)).collect();
        let fields = fields.into_iter().collect::<Option<Vec<FieldId>>>()?;
        if several != spec.item.is_some() {
            let fault = Fault::at(spec.field.span.clone(), "a list of fields and `item` go together");
            self.fault(fault.help("write change = { field = [\"...\", \"...\"], item = \"row\", by = 1 }"));
            return None;
        }
        let ends = self.ends(spec)?;
        if let Some(name) = &spec.item {
            let item = self.counting(name, fields.len(), "fields")?;
            let changes = fields.into_iter().map(|field| self.one(spec, field, ends, span));
            return Some(Action::Pick(item, changes.collect::<Option<_>>()?));
        }
        let field = *fields.first()?;
        let text = &self.names.fields[field.0].text;
        let is_text = self.names.fields[field.0].pieces.first().is_some_and(|piece| matches!(piece, Piece::Joined(_)));
        if is_text != spec.character.is_some() {
            let fault = Fault::at(spec.field.span.clone(), "a text and `character` go together");
            self.fault(fault.help("write change = { field = \"...\", character = \"place\", by = 1, wrap = true }"));
            return None;
        }
        let Some(name) = &spec.character else { return self.one(spec, field, ends, span).map(Action::Change) };
        let all: Vec<FieldId> = [field].into_iter().chain(text.iter().copied()).collect();
        let cursor = self.counting(name, all.len(), "characters")?;
        let changes = all.into_iter().map(|field| self.one(spec, field, ends, span));
        Some(Action::Pick(cursor, changes.collect::<Option<_>>()?))
    }

    fn found(&mut self, name: &str, span: &Span) -> Option<FieldId> {
        let name = At { span: span.clone(), value: name.to_owned() };
        let found = self.names.field(&name);
        if found.is_none() {
            self.fault(no_field(&name, self.names.fields));
        }
        found
    }

    /// A field that counts so many things from 0.
    fn counting(&mut self, name: &At<String>, count: usize, what: &str) -> Option<FieldId> {
        let field = self.found(&name.value, &name.span)?;
        let [low, high] = self.names.fields[field.0].range;
        if low != 0.0 || high != (count.max(1) - 1) as f64 {
            let fault = Fault::at(name.span.clone(), format!("`{}` does not count these {what}", name.value));
            let fault = fault.label(format!("its range is {low} to {high}, the {what} are {count}"));
            let fault = fault.rests_on(&self.names.fields[field.0].span);
            self.fault(fault.help(format!("give the field range = [0, {}]", count.max(1) - 1)));
            return None;
        }
        Some(field)
    }

    /// What happens at the ends of a range.
    fn ends(&mut self, spec: &ChangeSpec) -> Option<Ends> {
        let Some(name) = &spec.outside else { return Some(if spec.wrap { Ends::Wrap } else { Ends::Clamp }) };
        if spec.wrap {
            let fault = Fault::at(name.span.clone(), "a value that wraps never leaves its range");
            self.fault(fault.help("keep one of `wrap` and `outside`"));
            return None;
        }
        match self.open(&name.value, &name.span)? {
            Action::Open(screen) => Some(Ends::Open(screen)),
            _ => None,
        }
    }

    /// The change of one field.
    fn one(&mut self, spec: &ChangeSpec, field: FieldId, ends: Ends, span: &Span) -> Option<FieldChange> {
        let cursor = spec.digit.as_ref().map(|name| self.found(&name.value, &name.span));
        let how = match (spec.by, spec.to, cursor) {
            (Some(by), None, None) => How::By(self.shown(by, field, span)?),
            (None, Some(to), None) => How::To(self.shown(to, field, span)?),
            (Some(by), None, Some(cursor)) => {
                if by.fract() != 0.0 || !(1.0..=9.0).contains(&by.abs()) {
                    self.fault(Fault::at(span.clone(), format!("a digit changes by 1 to 9, found {by}")));
                    return None;
                }
                How::Digit { cursor: cursor?, by: by as i8 }
            }
            (None, _, Some(_)) => {
                let fault = Fault::at(span.clone(), "a digit is changed by an amount");
                self.fault(fault.help("write change = { field = \"...\", digit = \"...\", by = 1 }"));
                return None;
            }
            _ => {
                self.fault(Fault::at(span.clone(), "a change needs exactly one of `by` and `to`"));
                return None;
            }
        };
        Some(FieldChange { field, how, ends })
    }

    /// An amount that the field can show: a whole number of its last decimal, as firmware holds it.
    fn shown(&mut self, amount: f64, field: FieldId, span: &Span) -> Option<f64> {
        let field = &self.names.fields[field.0];
        if Count::new(field.range, field.step).holds(amount) {
            return Some(amount);
        }
        let what = format!("`{}` has no such amount: its values are {} apart, found {amount}", field.name, field.step);
        self.fault(Fault::at(span.clone(), what).help("give the field more `decimals`, or change it by more"));
        None
    }
}
