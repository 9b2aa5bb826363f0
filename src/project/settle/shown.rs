//! How fields are shown: units that a setting chooses, marks and patterns of locales, texts of characters.

use crate::assets::formats::Format;
use crate::assets::pseudo::PSEUDO;
use crate::behaviour::count::DECIMALS;
use crate::behaviour::field::{Field, Motion, Renewal};
use crate::behaviour::units::{Unit, Units};
use crate::elements::scope::nearest_field;
use crate::limits;
use crate::project::device::{ClockSpec, FieldSpec, FormatSpec, FormatsSpec, QuantitySpec, TextSpec};
use crate::screen::shown::{Marks, Scale, ShownNumber};
use crate::screen::template::Piece;
use crate::screen::values::FieldId;
use crate::source::amount::{At, Named};
use crate::source::fault::{Fault, nearest, no_such};
use crate::source::spans::Span;
use crate::units::count as counted;
use std::collections::BTreeMap;

/// Units of quantities, and how each locale writes.
pub struct Formats<'s> {
    fields: &'s Named<FieldSpec>,
    places: &'s Named<QuantitySpec>,
    quantities: BTreeMap<&'s str, Units>,
    locales: Vec<Option<Format>>,
}

impl<'s> Formats<'s> {
    /// Settles quantities and formats.
    pub fn new(
        fields: &'s Named<FieldSpec>,
        quantities: &'s Named<QuantitySpec>,
        formats: Option<&At<FormatsSpec>>,
        locales: &[String],
        faults: &mut Vec<Fault>,
    ) -> Self {
        let written = locales.iter().map(|locale| format(formats?, locale, locales, faults)).collect();
        if let Some(formats) = formats {
            let unknown = formats.value.locales.iter().filter(|(name, _)| !locales.contains(name));
            faults.extend(unknown.map(|(name, at)| {
                let fault = Fault::at(at.span.clone(), format!("there is no strings/{name}.toml"));
                fault.help(nearest(name, locales.iter().map(String::as_str)).unwrap_or_default())
            }));
        }
        let mut all = Self { fields, places: quantities, quantities: BTreeMap::new(), locales: written };
        for (name, at) in quantities {
            let units = all.quantity(&at.value, faults);
            all.quantities.extend(units.map(|units| (name.as_str(), units)));
        }
        for at in fields.values() {
            faults.extend(objections(at, quantities));
        }
        all
    }

    /// The marks of a locale.
    pub fn marks(&self, locale: usize) -> Marks {
        self.locales.get(locale).and_then(Option::as_ref).map_or(Marks::PLAIN, |format| format.marks)
    }

    /// A field by name.
    pub fn field(&self, name: &At<String>, faults: &mut Vec<Fault>) -> Option<FieldId> {
        let found = self.fields.keys().position(|field| *field == name.value).map(FieldId);
        if found.is_none() {
            faults.push(nearest_field(name, self.fields.keys().map(String::as_str)));
        }
        found
    }

    /// A field that chooses among so many things.
    fn chooser(
        &self,
        name: &At<String>,
        (count, what, within): (usize, &str, &Span),
        faults: &mut Vec<Fault>,
    ) -> Option<FieldId> {
        let field = self.field(name, faults)?;
        let choices = self.fields[&name.value].value.choices.as_ref().map_or(0, |choices| choices.value.len());
        if choices != count || count == 0 {
            let fault = Fault::at(name.span.clone(), format!("`{}` does not choose among these {what}", name.value));
            let fault =
                fault.label(format!("it has {}, the {what} are {count}", counted(choices, "choice", "choices")));
            let fault = fault.rests_on(&self.fields[&name.value].span).rests_on(within);
            faults.push(fault.help("give the field a choice for each: choices = [ ... ]"));
            return None;
        }
        Some(field)
    }

    fn quantity(&self, spec: &QuantitySpec, faults: &mut Vec<Fault>) -> Option<Units> {
        let by = self.chooser(&spec.by, (spec.units.value.len(), "units", &spec.units.span), faults)?;
        let unit = |unit: &crate::project::device::UnitSpec| Unit {
            name: unit.unit.clone(),
            scale: Scale { factor: unit.factor, offset: unit.offset },
            decimals: usize::from(unit.decimals.min(9)),
        };
        let units: Vec<Unit> = spec.units.value.iter().map(unit).collect();
        let sound = |scale: &Scale| scale.factor > 0.0 && scale.factor.is_finite() && scale.offset.is_finite();
        if let Some(wrong) = units.iter().find(|unit| !sound(&unit.scale)) {
            let text = format!("a factor is above 0; that of `{}` is {}", wrong.name, wrong.scale.factor);
            faults.push(Fault::at(spec.units.span.clone(), text));
            return None;
        }
        if units.first().is_some_and(|unit| unit.scale != Scale::OWN) {
            let fault = Fault::at(spec.units.span.clone(), "the first unit is the one that values are held in");
            faults.push(fault.help("leave out its factor and offset, and state those of the others against it"));
            return None;
        }
        Some(Units { by, units })
    }

    /// The units of a field's quantity.
    pub fn units(&self, spec: &FieldSpec) -> Option<Units> {
        self.quantities.get(spec.quantity.as_ref()?.value.as_str()).cloned()
    }

    /// The table of a field's quantity.
    pub fn place(&self, spec: &FieldSpec) -> Option<Span> {
        Some(self.places.get(&spec.quantity.as_ref()?.value)?.span.clone())
    }

    /// A field as a number in a locale.
    pub fn number(&self, field: FieldId, spec: &FieldSpec, range: [f64; 2], locale: usize) -> Piece {
        let marks = self.marks(locale);
        let shown = |scale, decimals| match (scale, marks) {
            (Scale::OWN, Marks::PLAIN) => Piece::Number { field, decimals, range },
            _ => Piece::Shown(ShownNumber { field, scale, decimals, range, marks }),
        };
        match self.units(spec) {
            None => shown(Scale::OWN, usize::from(spec.decimals.min(9))),
            Some(units) => {
                let pieces = units.units.iter().map(|unit| shown(unit.scale, unit.decimals)).collect();
                Piece::By { field: units.by, pieces }
            }
        }
    }

    /// A field as a point in time in a locale. Patterns that cannot be used are noted once.
    pub fn clock(&self, field: FieldId, clock: &At<ClockSpec>, locale: usize, faults: &mut Vec<Fault>) -> Piece {
        match &clock.value {
            ClockSpec::Pattern(pattern) => self.pattern(field, pattern, clock, locale, faults),
            ClockSpec::By { by, patterns } => {
                let by = At { span: clock.span.clone(), value: by.clone() };
                let mut told = Vec::new();
                let chooser = self.chooser(&by, (patterns.len(), "patterns", &clock.span), &mut told);
                let pieces = patterns.iter().map(|pattern| self.pattern(field, pattern, clock, locale, &mut told));
                let pieces = pieces.collect();
                faults.extend(told.into_iter().filter(|_| locale == 0));
                chooser.map_or(Piece::Fixed(String::new()), |field| Piece::By { field, pieces })
            }
        }
    }

    fn pattern(
        &self,
        field: FieldId,
        pattern: &str,
        at: &At<ClockSpec>,
        locale: usize,
        faults: &mut Vec<Fault>,
    ) -> Piece {
        let format = self.locales.get(locale).and_then(Option::as_ref);
        let pattern = format.map_or_else(|| pattern.to_owned(), |format| format.pattern(pattern));
        let trial = jiff::civil::date(2030, 1, 1).at(0, 0, 0, 0);
        if let Err(why) = jiff::fmt::strtime::format(&pattern, trial) {
            if locale == 0 {
                let fault =
                    Fault::at(at.span.clone(), format!("this is not a strftime pattern that can be used: {why}"));
                faults.push(fault.help("write for example \"%H:%M\" or \"%d.%m.%Y\""));
            }
            return Piece::Fixed(String::new());
        }
        Piece::Clock { field, pattern }
    }
}

/// What cannot be meant together in a field.
fn objections(at: &At<FieldSpec>, quantities: &Named<QuantitySpec>) -> Vec<Fault> {
    let spec = &at.value;
    let mut faults = Vec::new();
    let kinds = [spec.range.is_some(), spec.choices.is_some(), spec.clock.is_some(), spec.text.is_some()];
    if let Some(text) = spec.text.as_ref().filter(|_| kinds.iter().filter(|kind| **kind).count() > 1) {
        faults.push(Fault::at(text.span.clone(), "a text has no `range`, `choices` or `clock`"));
    }
    if let Some(within) = spec.within.as_ref().filter(|_| spec.range.as_ref().is_none_or(|range| range.value[0] != 0.0))
    {
        let fault = Fault::at(within.span.clone(), "`within` is for a field that counts from 0");
        faults.push(fault.help("give the field range = [0, ...], the largest one less than there can be"));
    }
    let Some(quantity) = &spec.quantity else { return faults };
    if !quantities.contains_key(&quantity.value) {
        let known = quantities.keys().map(String::as_str);
        let fault = no_such("quantity", "quantities", (&quantity.value, &quantity.span), known);
        let add = format!("add it to device.toml: [quantities.{}] with `by` and `units`", quantity.value);
        faults.push(fault.or_help(add));
    }
    if spec.range.is_none() && kinds.iter().any(|kind| *kind) {
        let fault = Fault::at(quantity.span.clone(), "only a field with a `range` has a quantity");
        faults.push(fault.rests_on(&at.span));
    }
    if !spec.unit.is_empty() || spec.decimals != 0 {
        let fault = Fault::at(quantity.span.clone(), "a field of a quantity has no `unit` or `decimals` of its own");
        faults.push(fault.help("delete them: units and decimals are those of the quantity"));
    }
    faults
}

/// How a locale writes; what is not known is noted.
fn format(spec: &At<FormatsSpec>, locale: &str, locales: &[String], faults: &mut Vec<Fault>) -> Option<Format> {
    // The pseudo-locale's words are those of another one.
    let name = if locale == PSEUDO { locales.first()? } else { locale };
    let own = spec.value.locales.get(name);
    let (like, span) = match (own.map(|at| (&at.value, &at.span)), &spec.value.like) {
        (Some((FormatSpec::Own { decimal, group, date, time }, _)), _) => {
            let group = Some(*group).filter(|_| spec.value.thousands);
            let marks = Marks { decimal: *decimal, group, rest: 3, least: 1 };
            return Some(Format { marks, date: date.clone(), time: time.clone() });
        }
        (Some((FormatSpec::Like(like), span)), _) => (like.as_str(), span.clone()),
        (None, Some(like)) => (like.value.as_str(), like.span.clone()),
        (None, None) => (name, spec.span.clone()),
    };
    let Some(mut found) = Format::of(like) else {
        if locale != PSEUDO {
            if like.is_empty() {
                let fault = Fault::at(span, "`[formats]` follows the locale, and the project names none");
                faults.push(fault.help("write locale = \"en\" (or another) at the top of device.toml"));
                return None;
            }
            let fault = Fault::at(span, format!("how the locale `{like}` writes numbers and dates is unknown"));
            let fault = fault.label(format!("known: {}", Format::known().collect::<Vec<_>>().join(", ")));
            faults.push(fault.help(format!(
                "write [formats.locales] {locale} = {{ decimal = \",\", group = \" \", date = \"%d.%m.%Y\", time = \"%H:%M\" }}, or like = \"de\""
            )));
        }
        return None;
    };
    found.marks.group = found.marks.group.filter(|_| spec.value.thousands);
    Some(found)
}

/// What lies between two neighbouring values of a field, in its own unit.
pub fn step(spec: &FieldSpec, units: Option<&Units>) -> f64 {
    let own = units.map(|units| units.units[0].decimals as i32);
    if spec.choices.is_some() { 1.0 } else { 10f64.powi(-own.unwrap_or(i32::from(spec.decimals.min(DECIMALS)))) }
}

/// The fields with those added that hold the further characters of texts.
pub fn with_texts(
    mut fields: Vec<Field>,
    specs: &Named<FieldSpec>,
    locales: usize,
    faults: &mut Vec<Fault>,
) -> Vec<Field> {
    for (index, (name, at)) in specs.iter().enumerate() {
        let Some(text) = &at.value.text else { continue };
        let objections = text_objections(text);
        if !objections.is_empty() {
            faults.extend(objections);
            continue;
        }
        let letters: Vec<String> = text.value.letters.chars().map(String::from).collect();
        let place = |letter: char| letters.iter().position(|known| known.starts_with(letter)).unwrap_or(0) as f64;
        let samples: Vec<f64> = text.value.sample.chars().map(place).collect();
        let first = fields.len();
        let ids: Vec<FieldId> =
            (0..text.value.length).map(|at| FieldId(if at == 0 { index } else { first + at - 1 })).collect();
        let piece = |id: &FieldId| Piece::Choice { field: *id, texts: letters.clone() };
        let whole = Piece::Joined(ids.iter().map(piece).collect());
        for (at_place, id) in ids.iter().enumerate() {
            let sample = samples.get(at_place).copied().unwrap_or(place(' '));
            let field = Field {
                name: if at_place == 0 { name.clone() } else { format!("{name} character {}", at_place + 1) },
                span: at.span.clone(),
                quantity: None,
                unit: String::new(),
                units: None,
                within: None,
                text: if at_place == 0 { ids[1..].to_vec() } else { Vec::new() },
                range: [0.0, (letters.len() - 1) as f64],
                step: 1.0,
                only: Vec::new(),
                pieces: vec![if at_place == 0 { whole.clone() } else { piece(id) }; locales],
                sample,
                renewal: Renewal::Never,
                motion: Motion::Still,
                history: 0,
            };
            match fields.get_mut(id.0) {
                Some(known) => *known = field,
                None => fields.push(field),
            }
        }
    }
    fields
}

fn text_objections(text: &At<TextSpec>) -> Vec<Fault> {
    let TextSpec { length, letters, sample } = &text.value;
    let fault = |message: String| Fault::at(text.span.clone(), message);
    let mut faults = Vec::new();
    if !(1..=limits::TEXT_FIELD).contains(length) {
        faults.push(fault(format!("a text has 1 to {} characters", limits::TEXT_FIELD)));
    }
    let known: Vec<char> = letters.chars().collect();
    let twice = known.iter().enumerate().find(|(at, letter)| known[..*at].contains(letter));
    if let Some((_, letter)) = twice {
        faults.push(fault(format!("the letter `{letter}` stands twice in `letters`")));
    }
    if known.len() < 2 || known.len() > limits::LETTERS {
        faults.push(fault(format!("a text is made of 2 to {} letters", limits::LETTERS)));
    }
    if sample.chars().count() > *length || (sample.chars().count() < *length && !known.contains(&' ')) {
        let short = fault(format!("the sample has {} characters, the text {length}", sample.chars().count()));
        faults.push(short.help("make it as long, or put a space among the letters for texts that are shorter"));
    }
    if let Some(letter) = sample.chars().find(|letter| !known.contains(letter)) {
        faults.push(fault(format!("`{letter}` of the sample is not among the letters")));
    }
    faults
}
