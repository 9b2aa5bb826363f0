//! What the loads of a device take from its battery through its power tree.
//!
//! Loads come on top of what flows while nothing happens: each takes what the whole tree takes with it, less what it
//! takes at rest. Not for the tree itself: see [`crate::hardware::tree`].

use crate::cell::peak::LoadCurrent;
use crate::cell::pulsed::Pulse;
use crate::device::Device;
use crate::hardware::rail::{Draw, Enabled, Rail, RailId, Source};
use crate::hardware::tree::{Flow, On, Tree};
use crate::parameters::ParameterSample;
use crate::units::{Amps, Ratio, Seconds, Volts};
use std::cell::RefCell;
use std::rc::Rc;

/// The power tree of one device at one battery voltage, and what flows in it at rest.
#[derive(Debug)]
pub struct Supply<'a> {
    tree: Tree<'a>,
    /// What is drawn on each rail at rest.
    asleep: Vec<LoadCurrent>,
    rest: Flow,
    /// Every rail is made from the battery alone and always on: what flows on one does not move the others.
    flat: bool,
    /// What was asked for before, in a tree that is solved as a whole.
    solved: RefCell<Vec<Solved>>,
}

/// The rails that are on, what is drawn on each, and what flows then.
type Solved = (On, Vec<LoadCurrent>, Rc<Flow>);

/// Solutions kept: more than the phases of all updates have, and few enough to be looked through.
const KEPT: usize = 48;

/// A rail being switched on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Starting {
    /// The rail.
    pub rail: RailId,
    /// How long it takes: as stated, or longer where the rail's current limit holds the charging back.
    pub time: Seconds,
    /// The current into its output capacitor meanwhile: its charge over the time, at most the rail's current limit.
    pub inrush: Amps,
    /// The rails that are on then.
    pub on: On,
}

/// Output capacitors that may be charged at one moment.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Inrushes {
    /// Every way in which some rails are being charged while the others are up, first none; none of a way needs another of
    /// it. All rails that feed others are in them, as long as they are few, and as many of the rest as leave few ways.
    pub ways: Vec<Vec<Starting>>,
    /// The rest, the largest inrush first: each may be charged with any of the ways.
    pub alone: Vec<Starting>,
}

impl Inrushes {
    /// All rails with an inrush, each once.
    pub fn rails(&self) -> Vec<Starting> {
        let ways = self.ways.iter().filter(|way| way.len() == 1).flatten();
        ways.chain(&self.alone).copied().collect()
    }
}

/// What the battery gives while rails are switched on, beyond rest, and for how long.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StartUps(Vec<(LoadCurrent, Seconds)>);

impl StartUps {
    /// All of it.
    pub fn draw(&self) -> Draw {
        self.0.iter().map(|(drawn, time)| Draw::of(*drawn, *time)).sum()
    }

    /// Until all rails are up.
    pub fn time(&self) -> Seconds {
        self.0.iter().map(|(_, time)| *time).sum()
    }

    /// As pulses that come so often a second.
    pub fn pulses(&self, per_second: Ratio) -> impl Iterator<Item = Pulse> + '_ {
        let one = move |(drawn, time): &(LoadCurrent, Seconds)| Pulse {
            share: Ratio(time.0 * per_second.0),
            time: *time,
            load_current: *drawn,
        };
        self.0.iter().map(one)
    }
}

impl<'a> Supply<'a> {
    /// For a device at a battery voltage.
    pub fn new(device: &'a Device, parameters: &'a ParameterSample, battery: Volts) -> Self {
        let rails = &device.board.rails;
        let asleep = (0..rails.len()).map(|rail| device.at_rest(parameters, RailId(rail))).collect();
        Self::of(Tree { rails, parameters, battery }, asleep)
    }

    /// For a tree and what is drawn on each of its rails at rest.
    pub fn of(tree: Tree<'a>, asleep: Vec<LoadCurrent>) -> Self {
        let alone = |rail: &Rail| rail.source == Source::Battery && rail.enabled == Enabled::Always && !rail.sags();
        let flat = tree.rails.iter().all(alone);
        Self { rest: tree.flow(&asleep, On::NONE), tree, asleep, flat, solved: RefCell::default() }
    }

    /// Whether what is drawn, and when, is the same at every battery voltage: only what that takes may differ.
    pub fn flat(&self) -> bool {
        self.flat
    }

    /// Whether a load on a rail of its own takes the same at every battery voltage.
    pub fn steady(&self, rail: RailId) -> bool {
        self.flat && self.tree.rails[rail.0].steady()
    }

    /// What leaves the battery at rest.
    pub fn rest(&self) -> &Flow {
        &self.rest
    }

    /// What the battery gives more than at rest while these rails are on too and these loads are drawn.
    pub fn beyond(&self, on: On, loads: &[(RailId, LoadCurrent)]) -> LoadCurrent {
        if self.flat {
            return self.each(loads);
        }
        let all = self.flow(on, loads).battery;
        LoadCurrent { current: all.current - self.rest.battery.current, power: all.power - self.rest.battery.power }
    }

    /// The whole tree while these rails are on too and these loads are drawn beside what flows at rest.
    pub fn flow(&self, on: On, loads: &[(RailId, LoadCurrent)]) -> Rc<Flow> {
        let mut demand = self.asleep.clone();
        for (rail, load) in loads {
            demand[rail.0] = demand[rail.0] + *load;
        }
        let mut solved = self.solved.borrow_mut();
        if let Some((.., flow)) = solved.iter().find(|(with, of, _)| *with == on && *of == demand) {
            return Rc::clone(flow);
        }
        let flow = Rc::new(self.tree.flow(&demand, on));
        if solved.len() < KEPT {
            solved.push((on, demand, Rc::clone(&flow)));
        }
        flow
    }

    /// As [`Supply::beyond`] where every rail stands alone.
    fn each(&self, loads: &[(RailId, LoadCurrent)]) -> LoadCurrent {
        let mut sum = LoadCurrent::default();
        for (rail, extra) in summed(loads) {
            let node = &self.rest.nodes[rail.0];
            let rail = &self.tree.rails[rail.0];
            let all = rail.taken(self.tree.parameters, node.demand + extra, node.input, node.output);
            sum.current += all.current - node.taken.current;
            sum.power += all.power - node.taken.power;
        }
        sum
    }

    /// Adds what [`Supply::beyond`] is through each of several supplies where every rail stands alone.
    pub fn beyond_each(supplies: &[Rc<Self>], loads: &[(RailId, LoadCurrent)], sums: &mut [LoadCurrent]) {
        let Some(any) = supplies.first() else { return };
        for (rail, extra) in summed(loads) {
            let nodes = supplies.iter().map(|supply| &supply.rest.nodes[rail.0]);
            let volts = nodes.clone().map(|node| (node.input, node.output));
            let demand = any.rest.nodes[rail.0].demand + extra;
            let mut taken = sums.iter_mut().zip(nodes);
            any.tree.rails[rail.0].taken_at_each(any.tree.parameters, demand, volts, |all| {
                if let Some((sum, node)) = taken.next() {
                    sum.current += all.current - node.taken.current;
                    sum.power += all.power - node.taken.power;
                }
            });
        }
    }

    /// The part that something drawn on a rail at rest has in what leaves the battery: rails share what they take for
    /// all that is on them.
    pub fn part(&self, rail: RailId, part: LoadCurrent) -> LoadCurrent {
        let node = &self.rest.nodes[rail.0];
        let all = node.demand.at(node.output);
        if !node.on || all.0 <= 0.0 {
            return LoadCurrent::default();
        }
        let share = part.at(node.output) / all;
        self.above(rail, LoadCurrent { current: node.taken.current * share, power: node.taken.power * share })
    }

    /// What the battery gives at rest for what a rail's regulator takes at its input.
    pub fn above(&self, rail: RailId, part: LoadCurrent) -> LoadCurrent {
        match self.tree.rails[rail.0].source {
            Source::Battery => part,
            Source::Usb => LoadCurrent::default(),
            Source::Rail(above) => self.part(above, part),
        }
    }

    /// The voltage of a rail when it is on; `None` where it is the battery's.
    pub fn voltage(&self, rail: RailId) -> Option<Volts> {
        let rails = self.tree.rails;
        match (rails[rail.0].output(), rails[rail.0].source) {
            (None, Source::Rail(above)) => self.voltage(above),
            (None, Source::Battery) => None,
            (None, Source::Usb) => Some(crate::hardware::rail::USB),
            (Some(_), _) => {
                let on = On::NONE.with(rails, rail);
                let known = &self.rest.nodes[rail.0];
                let volts = if known.on { known.output } else { self.tree.flow(&self.asleep, on).nodes[rail.0].output };
                Some(volts)
            }
        }
    }

    /// The rails that must be switched on for others to be on, from the source on.
    pub fn starting(&self, on: On) -> Vec<Starting> {
        let (rails, parameters) = (self.tree.rails, self.tree.parameters);
        let mut before = On::NONE;
        let mut all = Vec::new();
        for (index, rail) in rails.iter().enumerate() {
            if rail.enabled == Enabled::Always || !on.has(index) {
                continue;
            }
            before = before.with(rails, RailId(index));
            let Some(start) = rail.start_up else { continue };
            let stated: Seconds = parameters.of(start.time);
            let charge = start.capacitor.map(|farads| {
                let volts = self.voltage(RailId(index)).unwrap_or(self.tree.battery);
                parameters.of(farads) * volts
            });
            let limit = rail.limit.map(|limit| parameters.of(limit)).filter(|limit: &Amps| limit.0 > 0.0);
            let time = charge.zip(limit).map_or(stated, |(charge, limit)| Seconds(stated.0.max((charge / limit).0)));
            let inrush = charge.filter(|_| time.0 > 0.0).map_or(Amps(0.0), |charge| charge / time);
            all.push(Starting { rail: RailId(index), time, inrush, on: before });
        }
        all
    }

    /// What switching rails on takes, beyond rest.
    pub fn start_up(&self, on: On) -> Draw {
        self.start_ups(on).draw()
    }

    /// The start-ups of rails that are switched on, one after the other.
    pub fn start_ups(&self, on: On) -> StartUps {
        self.ups(on, |_| LoadCurrent::default())
    }

    /// As [`Supply::start_ups`], less what the rails take once they are up and nothing is drawn on them.
    pub fn charging(&self, on: On) -> StartUps {
        self.ups(on, |start| self.beyond(start.on, &[]))
    }

    fn ups(&self, on: On, less: impl Fn(&Starting) -> LoadCurrent) -> StartUps {
        let one = |start: &Starting| {
            let (all, less) = (self.beyond(start.on, &[(start.rail, LoadCurrent::current(start.inrush))]), less(start));
            (LoadCurrent { current: all.current - less.current, power: all.power - less.power }, start.time)
        };
        StartUps(if self.flat { Vec::new() } else { self.starting(on).iter().map(one).collect() })
    }

    /// The rails whose output capacitors are charged when these are switched on, and the ways in which some of them are
    /// being charged at one moment while the others are up.
    pub fn inrushes(&self, on: On) -> Inrushes {
        /// Rails that feed others with an inrush, at most, and all rails: each more doubles the ways.
        const FEEDING: usize = 10;
        const RAILS: usize = 5;
        let mut all = if self.flat { Vec::new() } else { self.starting(on) };
        all.retain(|start| start.inrush.0 > 0.0);
        let feeds = |start: &Starting| all.iter().any(|other| !self.apart(start, other));
        let (mut tried, leaves): (Vec<Starting>, Vec<Starting>) = all.iter().copied().partition(feeds);
        let mut alone = tried.split_off(tried.len().min(FEEDING));
        alone.extend(leaves);
        alone.sort_by(|a, b| b.inrush.0.total_cmp(&a.inrush.0));
        tried.extend(alone.drain(..RAILS.saturating_sub(tried.len()).min(alone.len())));
        let chosen = |set: u32| -> Vec<Starting> {
            (0..tried.len()).filter(|place| set >> place & 1 == 1).map(|place| tried[place]).collect()
        };
        let apart = |way: &Vec<Starting>| way.iter().all(|a| way.iter().all(|b| self.apart(a, b)));
        Inrushes { ways: (0..1u32 << tried.len()).map(chosen).filter(apart).collect(), alone }
    }

    /// Whether neither of two rails needs the other, so that both can be charged at one moment.
    fn apart(&self, one: &Starting, other: &Starting) -> bool {
        let needs = |a: &Starting, b: &Starting| self.needs(a.rail).has(b.rail.0);
        one.rail == other.rail || !needs(one, other) && !needs(other, one)
    }

    /// Tries every way in which rails are charged at one moment for its value; `value` gives none for a way that cannot
    /// be. Rails that stand alone move the value each for itself, so what is better for one is so whatever the others do,
    /// and none of them doubles the ways.
    pub fn highest(&self, inrushes: &Inrushes, mut value: impl FnMut(&[Starting]) -> Option<f64>) {
        for way in &inrushes.ways {
            let mut way = way.clone();
            let Some(mut best) = value(&way) else { continue };
            for start in &inrushes.alone {
                if way.iter().all(|other| self.apart(start, other)) {
                    way.push(*start);
                    match value(&way).filter(|value| *value > best) {
                        Some(higher) => best = higher,
                        None => _ = way.pop(),
                    }
                }
            }
        }
    }

    /// Whether a load on a rail has none while these are being switched on.
    pub fn waits(&self, rail: RailId, starting: &[Starting]) -> bool {
        let needs = self.needs(rail);
        starting.iter().any(|start| needs.has(start.rail.0))
    }

    /// The rails that a load needs.
    pub fn needs(&self, rail: RailId) -> On {
        On::NONE.with(self.tree.rails, rail)
    }
}

/// Each rail once, with all that is drawn on it.
fn summed(loads: &[(RailId, LoadCurrent)]) -> impl Iterator<Item = (RailId, LoadCurrent)> + '_ {
    let first =
        |(place, (rail, _)): &(usize, &(RailId, LoadCurrent))| !loads[..*place].iter().any(|(on, _)| on == rail);
    let all = |rail: RailId| loads.iter().filter(|(on, _)| *on == rail).map(|(_, load)| *load).sum();
    loads.iter().enumerate().filter(first).map(move |(_, (rail, _))| (*rail, all(*rail)))
}
