//! From the rails' text to the power tree: sources found, regulators made, circles and what cannot be refused.

use super::hardware::Bench;
use crate::hardware::board::Board;
use crate::hardware::efficiency::{Efficiency, EfficiencyRow, Rows};
use crate::hardware::rail::{Enabled, Rail, RailId, Regulator, Source, StartUp, Topology};
use crate::project::hardware::{BoardSpec, EfficiencySpec, RailSpec, RegulatorKind};
use crate::source::amount::{Amount, At, Named, Qty};
use crate::source::fault::{Fault, nearest};
use crate::units::{Amps, Ohms, Ratio, Seconds, Volts};

/// What is wrong with the rows of an efficiency table.
fn unsound(rows: &[(Option<Volts>, Amps, &Amount<Ratio>)]) -> Option<&'static str> {
    let follows = |a: &(Option<Volts>, Amps, &Amount<Ratio>), b: &(Option<Volts>, Amps, &Amount<Ratio>)| {
        if a.0 == b.0 { a.1 < b.1 } else { a.0 < b.0 }
    };
    let with = rows.iter().filter(|row| row.0.is_some()).count();
    match rows {
        _ if !rows.iter().all(|(_, _, share)| share.spread[0].0 > 0.0 && share.spread[2].0 <= 1.0) => {
            Some("an efficiency lies above 0 % and at most at 100 %")
        }
        [] => Some("the table of efficiency has no rows"),
        _ if with != 0 && with != rows.len() => Some("either every row has its `input` voltage, or none"),
        _ if !rows.windows(2).all(|pair| follows(&pair[0], &pair[1])) => {
            Some("the rows must rise in `at`, and where they have `input` voltages in those first")
        }
        _ if rows.len() > 1 && rows.iter().any(|row| row.1.0 <= 0.0) => Some(
            "a row at no current has no place on a logarithmic axis: begin with the smallest current that is known",
        ),
        _ => None,
    }
}

impl Bench<'_> {
    /// Every rail, each behind what feeds it.
    pub(super) fn rails(&mut self, specs: &Named<RailSpec>) -> Vec<Rail> {
        let order = self.order(specs);
        let mut rails: Vec<Rail> = Vec::with_capacity(order.len());
        for (name, spec, source) in order {
            let source = match source {
                Feed::Battery => Source::Battery,
                Feed::Usb => Source::Usb,
                Feed::Rail(above) => {
                    let place = rails.iter().position(|rail| rail.name == above);
                    place.map_or(Source::Battery, |place| Source::Rail(RailId(place)))
                }
            };
            let rail = self.make_rail(name, spec, source);
            rails.push(rail);
        }
        rails
    }

    /// The rails so that each stands behind its source; those of a circle are fed by the battery after the fault.
    fn order<'s>(&mut self, specs: &'s Named<RailSpec>) -> Vec<(&'s str, &'s At<RailSpec>, Feed<'s>)> {
        let mut left: Vec<_> =
            specs.iter().map(|(name, spec)| (name.as_str(), spec, self.feed(name, spec, specs))).collect();
        let mut placed: Vec<(&str, &At<RailSpec>, Feed<'_>)> = Vec::with_capacity(left.len());
        while !left.is_empty() {
            let free = left.iter().position(|(_, _, feed)| match feed {
                Feed::Rail(above) => placed.iter().any(|(name, ..)| name == above),
                Feed::Battery | Feed::Usb => true,
            });
            let next = free.unwrap_or_else(|| {
                self.fault(circle(&left));
                left[0].2 = Feed::Battery;
                0
            });
            placed.push(left.remove(next));
        }
        placed
    }

    fn feed<'s>(&mut self, name: &str, spec: &'s At<RailSpec>, specs: &Named<RailSpec>) -> Feed<'s> {
        let Some(source) = &spec.value.source else { return Feed::Battery };
        match source.value.as_str() {
            "battery" => Feed::Battery,
            "usb" => Feed::Usb,
            above if specs.contains_key(above) => Feed::Rail(above),
            other => {
                let fault = Fault::at(
                    source.span.clone(),
                    format!("the rail `{name}` has no source: there is no rail `{other}`"),
                );
                let known = specs.keys().map(String::as_str).chain(["battery", "usb"]);
                let help =
                    nearest(other, known).unwrap_or_else(|| "write \"battery\", \"usb\" or the name of a rail".into());
                self.fault(fault.wants("rails", other).help(help));
                Feed::Battery
            }
        }
    }

    fn make_rail(&mut self, name: &str, rail: &At<RailSpec>, source: Source) -> Rail {
        let (spec, path) = (&rail.value, format!("board.rails.{name}"));
        let own_output = !matches!(spec.regulator, RegulatorKind::Direct | RegulatorKind::LoadSwitch);
        let stated = spec.output.as_ref().map(|output| output.value.0);
        if own_output && stated.is_none() {
            self.fault(lacks(name, rail, "output").help("add its output voltage, such as output = \"3.0 V\""));
        }
        let output = stated.unwrap_or(Volts(3.0));
        let regulator = match spec.regulator {
            RegulatorKind::Direct => Regulator::Direct,
            RegulatorKind::LoadSwitch => Regulator::Switch {
                resistance: self.or(&path, "resistance", spec.resistance.as_ref(), Ohms(0.0)),
                quiescent: self.or(&path, "quiescent", spec.quiescent.as_ref(), Amps(0.0)),
            },
            RegulatorKind::Ldo => {
                if spec.dropout.is_none() {
                    self.fault(
                        lacks(name, rail, "dropout")
                            .help("add the minimum difference between input and output, such as \"150 mV\""),
                    );
                }
                Regulator::Linear {
                    output,
                    dropout: self.or(&path, "dropout", spec.dropout.as_ref(), Volts(0.0)),
                    quiescent: self.or(&path, "quiescent", spec.quiescent.as_ref(), Amps(0.0)),
                }
            }
            RegulatorKind::Buck | RegulatorKind::Boost | RegulatorKind::BuckBoost => {
                let quiescent = self.or(&path, "quiescent", spec.quiescent.as_ref(), Amps(0.0));
                let topology = match spec.regulator {
                    RegulatorKind::Buck => Topology::Buck,
                    RegulatorKind::Boost => Topology::Boost,
                    _ => Topology::BuckBoost,
                };
                let efficiency = self.efficiency(&path, rail);
                let includes_quiescent = spec.includes_quiescent;
                Regulator::Switching { topology, output, quiescent, efficiency, includes_quiescent }
            }
        };
        self.unsuited(name, rail);
        let volts = |limit: &Option<At<Qty<Volts>>>| limit.as_ref().map(|limit| limit.value.0);
        Rail {
            name: name.to_owned(),
            span: rail.span.clone(),
            source,
            regulator,
            enabled: spec.enabled,
            off: spec.quiescent_off.as_ref().map(|off| self.enter(&format!("{path}.quiescent-off"), off)),
            start_up: spec.start_up.as_ref().map(|time| StartUp {
                time: self.enter(&format!("{path}.start-up"), time),
                capacitor: spec.capacitor.as_ref().map(|farads| self.enter(&format!("{path}.capacitor"), farads)),
            }),
            limit: spec.current_limit.as_ref().map(|limit| self.enter(&format!("{path}.current-limit"), limit)),
            out_of_range: spec.out_of_range,
            min_input: volts(&spec.min_input).unwrap_or(Volts(0.0)),
            max_input: volts(&spec.max_input).unwrap_or(Volts(f64::INFINITY)),
        }
    }

    /// An amount, or a plain value where there is none.
    fn or<Q: crate::units::Quantity>(
        &mut self,
        path: &str,
        key: &str,
        amount: Option<&Amount<Q>>,
        plain: Q,
    ) -> crate::parameters::Input<Q> {
        self.enter(&format!("{path}.{key}"), amount.unwrap_or(&Amount::exact(plain)))
    }

    /// Keys that do not belong to this kind of rail.
    fn unsuited(&mut self, name: &str, rail: &At<RailSpec>) {
        let spec = &rail.value;
        let wrong =
            |message: &str, help: &str| Fault::at(rail.span.clone(), format!("the rail `{name}` {message}")).help(help);
        let switched = spec.enabled != Enabled::Always;
        if switched && spec.regulator == RegulatorKind::Direct {
            self.fault(wrong("is direct and cannot be switched off", "write regulator = \"load-switch\""));
        }
        if spec.resistance.is_some() && spec.regulator != RegulatorKind::LoadSwitch {
            self.fault(wrong("has a `resistance`, which only a load switch has", "remove it"));
        }
        let switching = matches!(spec.regulator, RegulatorKind::Buck | RegulatorKind::Boost | RegulatorKind::BuckBoost);
        if spec.includes_quiescent && !(switching && spec.quiescent.is_some()) {
            let help = "give `quiescent` and `efficiency` of a switching regulator, or remove `includes-quiescent`";
            self.fault(wrong("has no quiescent current that its table of efficiency could include", help));
        }
        if spec.capacitor.is_some() && spec.start_up.as_ref().is_none_or(|time| time.spread[0] <= Seconds(0.0)) {
            let help = "add the time in which it is charged, such as start-up = \"2 ms\"";
            self.fault(wrong("has a capacitor and no `start-up` time above 0", help));
        }
        if let (Some(off), on) = (&spec.quiescent_off, spec.quiescent.as_ref().map_or(Amps(0.0), |own| own.spread[1]))
            && off.spread[1] > on
        {
            let message = format!("takes {} off and {on} on", off.spread[1]);
            self.fault(wrong(&message, "expected less while it is off"));
        }
    }

    /// What sleeps and wakes the others must have its supply all the time, and away from the charger.
    pub(super) fn stays_on(&mut self, spec: &BoardSpec, board: &Board) {
        let named = |key: Option<&At<String>>| key.map(|key| key.span.clone());
        let memory = board.memory.as_ref().map(|memory| {
            ("the memory", memory.rail, named(spec.memory.as_ref().and_then(|memory| memory.rail.as_ref())), false)
        });
        let mcu = ("the microcontroller", board.mcu.rail, named(spec.mcu.value.rail.as_ref()), true);
        for (who, rail, span, always) in [Some(mcu), memory].into_iter().flatten() {
            self.fed(&board.rails, who, rail, span, always);
        }
    }

    /// A consumer without which the device does not work.
    pub(super) fn fed(
        &mut self,
        rails: &[Rail],
        who: &str,
        rail: RailId,
        span: Option<crate::source::spans::Span>,
        always: bool,
    ) {
        let Some(rail) = rails.get(rail.0) else { return };
        let mut at = rail;
        loop {
            let span = span.clone().unwrap_or_else(|| rail.span.clone());
            if at.source == Source::Usb {
                let fault = Fault::at(span, format!("{who} is fed by USB alone and works only at the charger"));
                return self.fault(fault.help("feed it from the battery or a rail that the battery feeds"));
            }
            if always && at.enabled != Enabled::Always {
                let message = format!("{who} could never wake: its rail `{}` is switched off while it sleeps", at.name);
                return self.fault(Fault::at(span, message).help("write enabled = \"always\" for this rail"));
            }
            match at.source {
                Source::Rail(above) => at = &rails[above.0],
                Source::Battery | Source::Usb => return,
            }
        }
    }

    /// Efficiency over output current, and over input voltage where the rows have it.
    fn efficiency(&mut self, path: &str, rail: &At<RailSpec>) -> Efficiency {
        let path = format!("{path}.efficiency");
        let ideal = |bench: &mut Self| {
            Efficiency::OverCurrent(vec![EfficiencyRow::new(Amps(0.0), bench.enter(&path, &Amount::exact(Ratio(1.0))))])
        };
        let Some(spec) = &rail.value.efficiency else {
            let fault = Fault::at(rail.span.clone(), "a switching regulator needs its `efficiency`");
            self.fault(
                fault.help("add a share such as efficiency = \"88 %\", or a list of { at = \"10 mA\", is = \"90 %\" }"),
            );
            return ideal(self);
        };
        let rows: Vec<(Option<Volts>, Amps, &Amount<Ratio>)> = match &spec.value {
            EfficiencySpec::One(share) => vec![(None, Amps(0.0), share)],
            EfficiencySpec::Table(rows) => {
                rows.iter().map(|row| (row.input.map(|volts| volts.0), row.at.0, &row.is)).collect()
            }
        };
        if let Some(what) = unsound(&rows) {
            self.fault(Fault::at(spec.span.clone(), what));
            return ideal(self);
        }
        let mut columns: Vec<(Option<Volts>, Rows)> = Vec::new();
        for (index, (input, at, share)) in rows.iter().enumerate() {
            let path = if rows.len() == 1 { path.clone() } else { format!("{path}.{index}.is") };
            let row = EfficiencyRow::new(*at, self.inputs.enter(&path, share.spread, share.source.clone()));
            match columns.last_mut().filter(|(of, _)| of == input) {
                Some((_, column)) => column.push(row),
                None => columns.push((*input, vec![row])),
            }
        }
        match columns.as_mut_slice() {
            [(None, rows)] => Efficiency::OverCurrent(std::mem::take(rows)),
            _ => Efficiency::OverInput(columns.into_iter().filter_map(|(input, rows)| Some((input?, rows))).collect()),
        }
    }
}

/// What feeds a rail, by name.
#[derive(Clone, Copy)]
enum Feed<'s> {
    Battery,
    Usb,
    Rail(&'s str),
}

fn lacks(name: &str, rail: &At<RailSpec>, what: &str) -> Fault {
    Fault::at(rail.span.clone(), format!("the rail `{name}` needs `{what}`"))
}

/// The fault for rails that only feed one another, told as a way around the circle.
fn circle(left: &[(&str, &At<RailSpec>, Feed<'_>)]) -> Fault {
    let above = |name: &str| {
        left.iter().find(|(of, ..)| *of == name).and_then(|(_, _, feed)| match feed {
            Feed::Rail(above) => Some(*above),
            Feed::Battery | Feed::Usb => None,
        })
    };
    // After as many steps as there are rails the walk is in the circle.
    let mut at = left[0].0;
    for _ in 0..left.len() {
        at = above(at).unwrap_or(at);
    }
    let mut way = vec![at];
    while let Some(next) = above(way[way.len() - 1]) {
        way.push(next);
        if next == at {
            break;
        }
    }
    let span = left.iter().find(|(name, ..)| *name == at).and_then(|(_, spec, _)| spec.value.source.as_ref());
    let span = span.map_or(0..0, |source| source.span.clone());
    Fault::at(span, format!("these rails feed one another: `{}`", way.join("` from `")))
        .help("let one of them be fed by the battery: source = \"battery\"")
}
