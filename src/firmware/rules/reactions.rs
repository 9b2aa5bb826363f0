//! What happens for a cause, as bytes; the same reaction stands once, however many keys share it.

use super::bytes::Bytes;
use crate::behaviour::count::{Count, thousandths};
use crate::behaviour::units::Converted;
use crate::behaviour::{Action, Ends, FieldChange, How, KeyRule, Reaction, Target};
use crate::device::Device;
use crate::firmware::tables::condition::{Check, Relation, decimals};
use crate::screen::ratio::Ratio;
use crate::screen::values::{Condition, FieldId};
use crate::source::fault::Fault;
use std::collections::HashMap;

/// Where they begin: behind the version.
pub const BEGIN: usize = 1;

/// The reactions so far.
#[derive(Debug)]
pub struct Reactions<'d> {
    device: &'d Device,
    /// Their bytes, which stand behind the version.
    pub bytes: Bytes,
    known: HashMap<Vec<u8>, u64>,
}

impl<'d> Reactions<'d> {
    /// None yet.
    pub fn new(device: &'d Device) -> Self {
        Self { device, bytes: Bytes::default(), known: HashMap::new() }
    }

    /// Where a reaction stands; 0 for one that does nothing whatever holds.
    pub fn place(&mut self, reaction: &Reaction) -> Result<u64, Fault> {
        if !reaction.acts() {
            return Ok(0);
        }
        let mut all = Bytes::default();
        for alternative in &reaction.alternatives {
            let mut body = Bytes::default();
            conditions(&mut body, self.device, &alternative.when)?;
            alternative.actions.iter().try_for_each(|action| self.action(&mut body, action))?;
            all.list(&body)?;
        }
        let mut bytes = Bytes::default();
        bytes.list(&all)?;
        let bytes = bytes.into_bytes();
        if let Some(place) = self.known.get(&bytes) {
            return Ok(*place);
        }
        let place = (BEGIN + self.bytes.len()) as u64;
        self.bytes.extend(&bytes);
        self.known.insert(bytes, place);
        Ok(place)
    }

    /// A key's rule; none at all is a rule that does nothing.
    pub fn key(&mut self, bytes: &mut Bytes, rule: Option<&KeyRule>) -> Result<(), Fault> {
        let Some(rule) = rule else { return bytes.number(0) };
        let faster = rule.repeat.and_then(|repeat| repeat.faster);
        let flags = u64::from(rule.press.acts())
            | u64::from(rule.release.acts()) << 1
            | u64::from(rule.hold.is_some()) << 2
            | u64::from(rule.repeat.is_some()) << 3
            | u64::from(faster.is_some()) << 4;
        bytes.number(flags)?;
        for reaction in [&rule.press, &rule.release].into_iter().filter(|reaction| reaction.acts()) {
            bytes.number(self.place(reaction)?)?;
        }
        if let Some(hold) = &rule.hold {
            bytes.wait(hold.after);
            bytes.number(self.place(&hold.reaction)?)?;
        }
        if let Some(repeat) = &rule.repeat {
            bytes.wait(repeat.after);
            bytes.wait(repeat.every);
        }
        if let Some((from, times)) = faster {
            bytes.number(from.into())?;
            bytes.number(thousandths(times) as u64)?;
        }
        Ok(())
    }

    fn action(&self, bytes: &mut Bytes, action: &Action) -> Result<(), Fault> {
        match action {
            Action::Change(change) => self.change(bytes, change),
            Action::Go(Target::Screen(screen)) => {
                bytes.number(1)?;
                bytes.number(screen.0 as u64)
            }
            Action::Go(Target::By { field, screens, rows }) => {
                bytes.number(if rows.is_some() { 8 } else { 2 })?;
                rows.map_or(Ok(()), |rows| self.choice(bytes, rows))?;
                self.choice(bytes, *field)?;
                let mut all = Bytes::default();
                for screen in screens {
                    let mut one = Bytes::default();
                    one.number(screen.0 as u64)?;
                    all.list(&one)?;
                }
                bytes.list(&all)
            }
            Action::Back => bytes.number(3),
            Action::Open(screen) => {
                bytes.number(4)?;
                bytes.number(screen.0 as u64)
            }
            Action::Pick(by, changes) => {
                bytes.number(7)?;
                self.choice(bytes, *by)?;
                let mut all = Bytes::default();
                for change in changes {
                    let mut one = Bytes::default();
                    self.change(&mut one, change)?;
                    all.list(&one)?;
                }
                bytes.list(&all)
            }
            Action::Close => bytes.number(5),
            Action::Cancel => bytes.number(6),
        }
    }

    /// A field that chooses: its place and its decimals.
    fn choice(&self, bytes: &mut Bytes, field: FieldId) -> Result<(), Fault> {
        bytes.number(field.0 as u64)?;
        bytes.number(decimals(self.device, field.0).into())
    }

    fn change(&self, bytes: &mut Bytes, change: &FieldChange) -> Result<(), Fault> {
        let field = &self.device.fields[change.field.0];
        let count = Count::new(field.range, field.grain());
        let number = |number: i128| {
            i64::try_from(number).ok().filter(|number| number.unsigned_abs() <= MOST).ok_or_else(|| {
                let what = format!("`{}` counts to {number} in its last decimal", field.name);
                Fault::plain(format!("cannot write the rules for firmware: {what}, beyond {MOST}"))
            })
        };
        let how = match change.how {
            How::By(_) => 0,
            How::To(_) => 1,
            How::Digit { .. } => 2,
        };
        let steps = |step: f64| match change.how {
            How::By(by) => number(Count::new(field.range, step).number(by)),
            How::To(to) => number(count.clamped(count.number(to))),
            How::Digit { by, .. } => Ok(by.into()),
        };
        let units = field.units.as_ref().filter(|_| how != 1);
        let flag = |set: bool, bit: u64| if set { bit } else { 0 };
        let opens = change.ends.opens();
        let flags = how
            | flag(change.ends == Ends::Wrap, 4)
            | flag(opens.is_some(), 8)
            | flag(field.within.is_some(), 16)
            | flag(units.is_some(), 32);
        bytes.number(0)?;
        bytes.number(flags)?;
        bytes.number(change.field.0 as u64)?;
        if let How::Digit { cursor, .. } = change.how {
            self.choice(bytes, cursor)?;
        }
        // A point in time has no ends of its own.
        let end = |end: i128| end.clamp(-i128::from(MOST), i128::from(MOST));
        let (low, high) = count.ends();
        for (stated, end) in [low, high].into_iter().zip([low, high].map(end)) {
            if field.range[0] != f64::MIN {
                number(stated)?;
            }
            bytes.signed(end as i64)?;
        }
        if let Some(screen) = opens {
            bytes.number(screen.0 as u64)?;
        }
        if let Some(within) = field.within {
            self.choice(bytes, within)?;
            bytes.number(decimals(self.device, change.field.0).into())?;
        }
        let Some(units) = units else { return bytes.signed(steps(field.step)?) };
        self.choice(bytes, units.by)?;
        let mut all = Bytes::default();
        for unit in &units.units {
            let mut one = Bytes::default();
            let converted = Converted::of(unit, decimals(self.device, change.field.0));
            one.number(u64::from(converted.own))?;
            one.signed(steps(10f64.powi(-(unit.decimals as i32)))?)?;
            ratio(&mut one, &converted.ratio, &field.name)?;
            all.list(&one)?;
        }
        bytes.list(&all)
    }
}

/// A conversion; one that needs more digits than firmware multiplies is refused.
fn ratio(bytes: &mut Bytes, ratio: &Ratio, field: &str) -> Result<(), Fault> {
    let Some([multiply, offset, divide]) = ratio.for_firmware() else {
        let text =
            format!("cannot write the rules for firmware: a unit of `{field}` needs a factor of too many digits");
        return Err(Fault::plain(text).help("give its factor or its offset fewer digits"));
    };
    bytes.number(multiply as u64)?;
    bytes.number(divide as u64)?;
    bytes.signed(offset.into())
}

/// The largest number that a field holds in firmware.
const MOST: u64 = 2_000_000_000;

/// All of these must hold.
pub fn conditions(bytes: &mut Bytes, device: &Device, all: &[Condition]) -> Result<(), Fault> {
    let mut list = Bytes::default();
    all.iter().try_for_each(|condition| self::condition(&mut list, device, condition))?;
    bytes.list(&list)
}

/// One condition, in whole numbers of the fields' last decimals.
pub fn condition(bytes: &mut Bytes, device: &Device, condition: &Condition) -> Result<(), Fault> {
    let check = Check::of(device, condition);
    let [below, same, above] = [1, 2, 4];
    let test = match check.test {
        Relation::Never => 0,
        Relation::Below => below,
        Relation::From => same | above,
        Relation::Is => same,
    };
    bytes.number(test | if check.other.is_some() { 8 } else { 0 })?;
    bytes.number(check.field as u64)?;
    match check.other {
        None => bytes.signed(check.limit.into()),
        Some((other, mine, its)) => {
            bytes.number(other as u64)?;
            bytes.number(mine.unsigned_abs().into())?;
            bytes.number(its.unsigned_abs().into())
        }
    }
}
