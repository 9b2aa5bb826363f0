//! The operations of screens one after the other: tests that several of them share are said once for all of them, and what
//! was said before is called rather than repeated.
//!
//! Not for what an operation says; see [`super::op`].

use super::guard::{Test, joined};
use super::numbers::{self, Number};
use super::op::{CALL, GUARD, TESTS};
use super::pairs::Pairs;
use embedded_graphics::prelude::Size;
use embedded_graphics::primitives::Rectangle;
use std::collections::HashMap;

/// Calls in calls; the interpreter has room for so many.
const DEEPEST: u8 = 4;

/// An operation without its tests, as numbers before and behind them.
#[derive(Clone, Debug)]
pub(super) struct Plain {
    /// What it lies within.
    pub area: Rectangle,
    pub tests: Vec<Test>,
    pub head: Vec<Number>,
    pub rest: Vec<Number>,
}

/// What stands in a row.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
enum Node {
    /// An operation.
    Op(Vec<u8>),
    /// Tests, the area of what they guard, and that.
    Guard(Vec<u8>, Vec<usize>),
}

/// A stretch that was written: the nodes it stands for.
struct Written {
    begin: usize,
    end: usize,
    nodes: Vec<usize>,
    depth: u8,
}

/// Rows of operations as they are written.
#[derive(Default)]
pub(super) struct Sequences {
    /// Bytes of a count and of a place.
    place: usize,
    pub bytes: Vec<u8>,
    /// What was written, before pairs were made of it.
    pub plain: Vec<Vec<u8>>,
    nodes: Vec<Node>,
    known: HashMap<Node, usize>,
    written: Vec<Vec<Written>>,
    rows: HashMap<Vec<usize>, usize>,
}

impl Sequences {
    /// None yet, where a count and a place take so many bytes.
    pub fn new(place: usize) -> Self {
        Self { place, ..Self::default() }
    }

    /// Writes a row where it was not written before, and gives its place: how many bytes follow, then these. Tests that
    /// so many operations or more have in common stand before all of them.
    pub fn row(&mut self, ops: &[Plain], least: usize, pairs: &Pairs) -> usize {
        let nodes = self.grouped(ops, 0, least);
        if let Some(place) = self.rows.get(&nodes) {
            return *place;
        }
        let place = self.bytes.len();
        self.body(&nodes, pairs);
        self.rows.insert(nodes, place);
        place
    }

    fn node(&mut self, node: Node) -> usize {
        let next = self.nodes.len();
        let id = *self.known.entry(node.clone()).or_insert(next);
        if id == next {
            self.nodes.push(node);
        }
        id
    }

    /// Operations whose first tests, so many, were said already.
    fn grouped(&mut self, ops: &[Plain], said: usize, least: usize) -> Vec<usize> {
        let mut nodes = Vec::new();
        let mut at = 0;
        while let Some(first) = ops.get(at) {
            let shares = |op: &&Plain| first.tests.get(said).is_some_and(|test| op.tests.get(said) == Some(test));
            let run = &ops[at..][..ops[at..].iter().take_while(shares).count().max(1)];
            if run.len() < least.max(2) || first.tests.len() == said {
                nodes.push(self.single(first, said));
                at += 1;
                continue;
            }
            let common = |op: &Plain| op.tests.iter().zip(&first.tests).take_while(|(one, other)| one == other).count();
            let upto = run.iter().map(common).min().unwrap_or(said);
            let area = run.iter().map(|op| op.area).reduce(around).unwrap_or(first.area);
            let mut guard = vec![Number::One(u32::from(GUARD | TESTS))];
            guard.extend(numbers::area(area).into_iter().chain(joined(&first.tests[said..upto])));
            let bytes = numbers::bytes(&guard);
            let body = self.grouped(run, upto, least);
            nodes.push(self.node(Node::Guard(bytes, body)));
            at += run.len();
        }
        nodes
    }

    fn single(&mut self, op: &Plain, said: usize) -> usize {
        let tests = joined(&op.tests[said..]);
        let mut head = op.head.clone();
        if let (Some(Number::One(kind)), false) = (head.first_mut(), tests.is_empty()) {
            *kind |= u32::from(TESTS);
        }
        self.node(Node::Op(numbers::bytes(&[head, tests, op.rest.clone()].concat())))
    }

    /// Writes nodes in a row: how many bytes follow, then these; how deep calls in it are.
    fn body(&mut self, nodes: &[usize], pairs: &Pairs) -> u8 {
        let (row, size) = (self.written.len(), self.bytes.len());
        self.written.push(Vec::new());
        self.bytes.extend(std::iter::repeat_n(0, self.place));
        let (mut at, mut deepest) = (0, 0);
        while at < nodes.len() {
            let begin = self.bytes.len();
            let (count, depth) = match self.called(&nodes[at..], pairs) {
                Some((count, call, depth)) => {
                    self.piece(call);
                    (count, depth)
                }
                None => match self.nodes[nodes[at]].clone() {
                    Node::Op(bytes) => {
                        self.piece(Piece::of(bytes, pairs));
                        (1, 0)
                    }
                    Node::Guard(bytes, inner) => {
                        self.piece(Piece::of(bytes, pairs));
                        (1, self.body(&inner, pairs))
                    }
                },
            };
            let nodes = nodes[at..at + count].to_vec();
            self.written[row].push(Written { begin, end: self.bytes.len(), nodes, depth });
            deepest = deepest.max(depth);
            at += count;
        }
        let count = (self.bytes.len() - size - self.place) as u32;
        self.bytes[size..size + self.place].copy_from_slice(&count.to_le_bytes()[..self.place]);
        deepest
    }

    fn piece(&mut self, piece: Piece) {
        self.bytes.extend(piece.coded);
        self.plain.push(piece.plain);
    }

    /// A call for as many of the nodes as were written in a row before; none where that is not shorter.
    fn called(&self, nodes: &[usize], pairs: &Pairs) -> Option<(usize, Piece, u8)> {
        let mut best: Option<(usize, usize, usize, u8)> = None;
        for row in &self.written {
            for first in 0..row.len() {
                let (mut count, mut depth) = (0, 0);
                for one in &row[first..] {
                    if one.depth >= DEEPEST || !nodes[count..].starts_with(&one.nodes) {
                        break;
                    }
                    count += one.nodes.len();
                    depth = depth.max(one.depth + 1);
                    if best.is_none_or(|(most, ..)| count > most) {
                        best = Some((count, row[first].begin, one.end, depth));
                    }
                }
            }
        }
        let (count, begin, end, depth) = best?;
        let call = [u32::from(CALL), begin as u32, (end - begin) as u32].map(Number::One);
        let call = Piece::of(numbers::bytes(&call), pairs);
        let own = |id: &usize| self.size(*id, pairs);
        (nodes[..count].iter().map(own).sum::<usize>() > call.coded.len()).then_some((count, call, depth))
    }

    /// Bytes that a node takes without calls.
    fn size(&self, id: usize, pairs: &Pairs) -> usize {
        match &self.nodes[id] {
            Node::Op(bytes) => Piece::of(bytes.clone(), pairs).coded.len(),
            Node::Guard(bytes, inner) => {
                Piece::of(bytes.clone(), pairs).coded.len()
                    + inner.iter().map(|id| self.size(*id, pairs)).sum::<usize>()
            }
        }
    }
}

/// An operation as it is written, and before pairs were made of it.
struct Piece {
    coded: Vec<u8>,
    plain: Vec<u8>,
}

impl Piece {
    fn of(plain: Vec<u8>, pairs: &Pairs) -> Self {
        Self { coded: pairs.coded(&plain), plain }
    }
}

/// What lies around two areas.
pub(super) fn around(one: Rectangle, other: Rectangle) -> Rectangle {
    let corner = one.top_left.component_min(other.top_left);
    let end = |area: Rectangle| area.top_left + area.size;
    let far = end(one).component_max(end(other)) - corner;
    Rectangle::new(corner, Size::new(far.x.max(0) as u32, far.y.max(0) as u32))
}
