//! From operations to bytes: what is alike in every locale, or for every value of a field, but for numbers and texts is one
//! operation.

use super::guard::{self, Test};
use super::numbers::{self, Number};
use super::op::{Op, OpPart};
use super::pairs::Pairs;
use super::sequence::{Plain, Sequences, around};
use super::stock::Stock;
use super::words::{Marking, Pool, Words};
use crate::source::fault::Fault;
use std::collections::HashMap;

/// Turns operations into bytes.
pub(super) struct Writer<'s> {
    stock: &'s Stock,
    fields: &'s Fields,
    pub pool: Pool<'s>,
    pub place: usize,
    pub screens: Vec<u8>,
    pub code: Sequences,
    pub pairs: Pairs,
    /// Where texts for each locale begin.
    groups: HashMap<Vec<Words>, usize>,
}

/// What is known of fields and locales.
pub(super) struct Fields {
    /// For each field whether its values are whole numbers.
    pub whole: Vec<bool>,
    /// The marks of each locale; may be empty.
    pub marks: Vec<Marking>,
}

/// How many operations have a test in common at least, where it stands before all of them.
const LEAST: [usize; 4] = [2, 3, 5, usize::MAX];

impl<'s> Writer<'s> {
    /// The tables that take fewest bytes, for each screen in each locale.
    pub fn least(stock: &'s Stock, lists: &[Vec<Vec<Op>>], fields: &'s Fields) -> Result<Self, Fault> {
        let plain = || [Pairs::default(), Pairs::default()];
        let tried = LEAST.into_iter().map(|least| (Self::write(stock, lists, fields, 2, plain(), least), least));
        let best = tried.min_by_key(|(writer, _)| writer.code.bytes.len());
        let Some((mut writer, least)) = best else {
            return Err(Fault::plain("the screens have more operations than the tables can hold"));
        };
        // Pairs change places, and places pairs.
        for _ in 0..2 {
            let all = [&writer.code.plain, &writer.pool.sequences];
            let pairs = all.map(|all| Pairs::of(all.iter().map(Vec::as_slice)));
            let short = Self::write(stock, lists, fields, 2, pairs.clone(), least);
            let fits = short.code.bytes.len().max(short.pool.bytes.len()) <= usize::from(u16::MAX);
            writer = if fits { short } else { Self::write(stock, lists, fields, 3, pairs, least) };
        }
        Ok(writer)
    }

    fn write(
        stock: &'s Stock,
        lists: &[Vec<Vec<Op>>],
        fields: &'s Fields,
        place: usize,
        pairs: [Pairs; 2],
        least: usize,
    ) -> Self {
        let [pairs, text_pairs] = pairs;
        let mut writer = Self {
            stock,
            fields,
            pool: Pool::new(&stock.codes, place, text_pairs),
            place,
            screens: Vec::new(),
            code: Sequences::new(place),
            pairs,
            groups: HashMap::new(),
        };
        writer.pool.begin_with(&fields.marks);
        for screen in lists {
            let ops = writer.screen(screen);
            let ops = writer.folded(ops);
            let at = writer.code.row(&ops, least, &writer.pairs);
            writer.screens.extend(writer.pool.place_bytes(at));
        }
        writer
    }

    /// A screen's operations in all locales; those that differ in more than numbers are tested for theirs.
    fn screen(&mut self, each: &[Vec<Op>]) -> Vec<Plain> {
        let locale = self.fields.whole.len();
        let own = |position: usize| guard::within(locale, Some(position as i32), Some(position as i32));
        let mut all = Vec::new();
        if each.windows(2).any(|pair| pair[0].len() != pair[1].len()) {
            for (position, ops) in each.iter().enumerate() {
                for op in ops {
                    let mut op = self.op(op);
                    op.tests.insert(0, own(position));
                    all.push(op);
                }
            }
            return all;
        }
        for at in 0..each.first().map_or(0, Vec::len) {
            let ops: Vec<&Op> = each.iter().filter_map(|list| list.get(at)).collect();
            match self.alike(&ops) {
                Some(op) => all.push(op),
                None => {
                    for (position, op) in ops.into_iter().enumerate() {
                        let mut op = self.op(op);
                        op.tests.push(own(position));
                        all.push(op);
                    }
                }
            }
        }
        all
    }

    /// An operation that is the same in every locale.
    fn op(&mut self, op: &Op) -> Plain {
        let rest = op.parts.iter().flat_map(|part| self.part(&[part]).unwrap_or_default()).collect();
        Plain { area: op.area, tests: op.tests.clone(), head: head(op), rest }
    }

    /// Operations of all locales as one; `None` where they differ in more than numbers and texts.
    fn alike(&mut self, each: &[&Op]) -> Option<Plain> {
        let (locale, first) = (self.fields.whole.len(), *each.first()?);
        if each.iter().any(|op| op.parts.len() != first.parts.len() || op.head != first.head) {
            return None;
        }
        let parts = |index: usize| each.iter().map(|op| &op.parts[index]).collect::<Vec<_>>();
        let heads: Vec<Vec<Number>> = each.iter().map(|op| head(op)).collect();
        let head = numbers::merged(locale, &heads.iter().map(Vec::as_slice).collect::<Vec<_>>())?;
        let tests = same_tests(locale, &each.iter().map(|op| op.tests.as_slice()).collect::<Vec<_>>())?;
        if (0..first.parts.len()).any(|index| !same_kind(&parts(index))) {
            return None;
        }
        let rest: Option<Vec<Vec<Number>>> = (0..first.parts.len()).map(|index| self.part(&parts(index))).collect();
        let area = each.iter().map(|op| op.area).reduce(around)?;
        Some(Plain { area, tests, head, rest: rest?.concat() })
    }

    /// A part of operations of all locales, or of one for all.
    fn part(&mut self, each: &[&OpPart]) -> Option<Vec<Number>> {
        let locale = self.fields.whole.len();
        let mut own = Vec::new();
        let mut texts = Vec::new();
        for part in each {
            match part {
                OpPart::Number(one) => own.push(vec![*one]),
                OpPart::Bitmap(position) => own.push(vec![self.stock.bitmaps[*position] as u32]),
                OpPart::Text(None) => own.push(vec![0]),
                OpPart::Text(Some(words)) => texts.push(words),
                OpPart::Marks(Marking::Plain) => own.push(vec![0]),
                OpPart::Marks(Marking::Locale) => own.push(vec![1]),
                OpPart::Marks(Marking::Own(signs)) => own.push([&[2], &self.pool.sign_numbers(signs)[..]].concat()),
            }
        }
        if !texts.is_empty() {
            return (texts.len() == each.len()).then(|| vec![Number::One(self.text(texts) + 1)]);
        }
        let plain: Vec<Vec<Number>> = own.iter().map(|own| own.iter().copied().map(Number::One).collect()).collect();
        numbers::merged(locale, &plain.iter().map(Vec::as_slice).collect::<Vec<_>>())
    }

    /// What an operation says of a text: twice its place, or one more than twice that of texts for each locale.
    fn text(&mut self, each: Vec<&Words>) -> u32 {
        if each.windows(2).all(|pair| pair[0] == pair[1]) {
            return each.first().map_or(0, |words| 2 * self.pool.place_of(words) as u32);
        }
        let known: Vec<Words> = each.iter().map(|words| words.to_vec()).collect();
        if let Some(place) = self.groups.get(&known) {
            return 2 * *place as u32 + 1;
        }
        let place = self.pool.group(&each);
        self.groups.insert(known, place);
        2 * place as u32 + 1
    }

    /// Operations of which only those for one value of a field are ever shown, as one for all values where they differ in
    /// nothing but numbers.
    fn folded(&self, ops: Vec<Plain>) -> Vec<Plain> {
        let mut all = Vec::new();
        let mut at = 0;
        while let Some(op) = ops.get(at) {
            let groups = self.runs(&ops[at..]);
            if groups.len() < 2 {
                all.push(op.clone());
                at += 1;
                continue;
            }
            let (field, _) = op.tests.first().and_then(guard::is).unwrap_or_default();
            for index in 0..groups[0].len() {
                let each: Vec<&Plain> = groups.iter().map(|group| &group[index]).collect();
                match one_for_all(field, &each) {
                    Some(one) => all.push(one),
                    None => all.extend(each.into_iter().cloned()),
                }
            }
            at += groups.iter().map(|group| group.len()).sum::<usize>();
        }
        all
    }

    /// Groups of equally many operations for the values 0, 1 and so on of a field that their first tests name.
    fn runs<'o>(&self, ops: &'o [Plain]) -> Vec<&'o [Plain]> {
        let of = |op: &Plain| op.tests.first().and_then(guard::is);
        let Some((field, 0)) = ops.first().and_then(of) else { return Vec::new() };
        if !self.fields.whole.get(field).is_some_and(|whole| *whole) {
            return Vec::new();
        }
        let run = |from: usize, value: u32| ops[from..].iter().take_while(|op| of(op) == Some((field, value))).count();
        let count = run(0, 0);
        let found = (0..).take_while(|value| run(*value as usize * count, *value) == count);
        found.map(|value| &ops[value as usize * count..][..count]).collect()
    }
}

/// The head of an operation: its kind, then its area.
fn head(op: &Op) -> Vec<Number> {
    let kind = Number::One(u32::from(op.head));
    std::iter::once(kind).chain(numbers::area(op.area)).collect()
}

fn same_kind(parts: &[&OpPart]) -> bool {
    let some = |part: &OpPart| matches!(part, OpPart::Text(Some(_)));
    let long = |part: &OpPart| matches!(part, OpPart::Marks(Marking::Own(_)));
    let same = |one: &OpPart, other: &OpPart| {
        std::mem::discriminant(one) == std::mem::discriminant(other)
            && some(one) == some(other)
            && long(one) == long(other)
    };
    parts.windows(2).all(|pair| same(pair[0], pair[1]))
}

/// Tests of several operations as those of one.
fn same_tests(field: usize, each: &[&[Test]]) -> Option<Vec<Test>> {
    let first = each.first()?;
    if each.iter().any(|tests| tests.len() != first.len()) {
        return None;
    }
    // What a test is must be the same for all.
    let same = |index: usize| each.iter().all(|tests| tests[index].first() == first[index].first());
    let at = |index: usize| {
        let all: Vec<&[Number]> = each.iter().map(|tests| tests[index].as_slice()).collect();
        numbers::merged(field, &all).filter(|_| same(index))
    };
    (0..first.len()).map(at).collect()
}

/// Operations for each value of a field as one; `None` where they differ in more than numbers, or where that is longer.
fn one_for_all(field: usize, each: &[&Plain]) -> Option<Plain> {
    let merged = |part: fn(&Plain) -> &Vec<Number>| {
        numbers::merged(field, &each.iter().map(|op| part(op).as_slice()).collect::<Vec<_>>())
    };
    if each.windows(2).any(|pair| pair[0].head.first() != pair[1].head.first()) {
        return None;
    }
    let mut tests = vec![guard::within(field, Some(0), Some(each.len() as i32 - 1))];
    tests.extend(same_tests(field, &each.iter().map(|op| &op.tests[1..]).collect::<Vec<_>>())?);
    let area = each.iter().map(|op| op.area).reduce(around)?;
    let one = Plain { area, tests, head: merged(|op| &op.head)?, rest: merged(|op| &op.rest)? };
    let size = |op: &Plain| numbers::bytes(&[&op.head[..], &op.tests.concat(), &op.rest].concat()).len();
    (size(&one) < each.iter().map(|op| size(op)).sum()).then_some(one)
}
