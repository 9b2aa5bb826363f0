//! Keys that stay down while something else comes to the front: what letting them go there changes. Followed only for keys
//! whose release changes a field on which it depends what is shown; of all others it would tell no states apart.

use super::follow::{Explorer, Follows};
use super::{By, Rule};
use crate::behaviour::{Action, KeyRule};
use crate::device::Device;
use crate::machine::state::State;
use crate::screen::ScreenId;
use crate::screen::values::FieldId;
use std::rc::Rc;

/// A key that is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Down {
    /// What was in front when it went down.
    screen: ScreenId,
    key: usize,
    /// Something else has come to the front since.
    stale: bool,
}

/// Every key on every screen whose release changes one of these fields.
pub(super) fn deciding(device: &Device, fields: &[FieldId]) -> Vec<(ScreenId, usize)> {
    let changes = |action: &Action| match action {
        Action::Change(change) => fields.contains(&change.field),
        Action::Pick(_, changes) => changes.iter().any(|change| fields.contains(&change.field)),
        _ => false,
    };
    let decides = |rule: &KeyRule| rule.release.every_action().any(changes);
    let keys = |(screen, wiring): (usize, &crate::behaviour::Wiring)| {
        let keys = wiring.keys.iter().enumerate().filter(|(_, rule)| decides(rule));
        keys.map(|(key, _)| (ScreenId(screen), key)).collect::<Vec<_>>()
    };
    device.wirings.iter().enumerate().flat_map(keys).collect()
}

impl Explorer<'_> {
    /// Every state that follows by one key, timer or event, with the keys that are down then.
    pub(super) fn next(&self, state: &Rc<State>, down: &[Down]) -> Vec<(Follows, Vec<Down>)> {
        let ordinary = self.steps(state);
        if self.late.is_empty() {
            return ordinary.into_iter().map(|follows| (follows, Vec::new())).collect();
        }
        let mut all = Vec::new();
        for follows in ordinary {
            let Some(rule) = follows.edges.first().map(|edge| edge.rule) else { continue };
            // What a key that is down does next is one of those below.
            let own = |one: &Down| matches!(rule.by, By::Press(key) | By::Release(key) if key == one.key);
            let over = |one: &Down| one.stale && rule.by == By::Hold(one.key);
            if down.iter().any(|one| own(one) || over(one)) {
                continue;
            }
            let fronted = fronted(state, &follows);
            let kept: Vec<Down> = down.iter().map(|one| Down { stale: one.stale || fronted, ..*one }).collect();
            if let Some(key) = self.stays(rule) {
                let others = kept.iter().copied().filter(|one| one.key != key);
                let now = Down { screen: rule.screen, key, stale: fronted };
                all.push((follows.clone(), sorted(others.chain([now]))));
            }
            all.push((follows, kept));
        }
        // A key with a hold goes down and does nothing yet.
        let front = state.front();
        for (screen, key) in self.late.iter().copied().filter(|(screen, _)| *screen == front) {
            let holds = self.device.wirings[screen.0].keys.get(key).is_some_and(|rule| rule.hold.is_some());
            if holds && down.iter().all(|one| one.key != key) {
                let rest = Follows { edges: Vec::new(), rest: state.clone(), endless: Vec::new() };
                all.push((rest, sorted(down.iter().copied().chain([Down { screen, key, stale: false }]))));
            }
        }
        for one in down {
            let Some(rule) = self.device.wirings[one.screen.0].keys.get(one.key) else { continue };
            let rest = || down.iter().copied().filter(|other| other != one);
            let edges = self.outcomes(state, (one.screen, By::Release(one.key)), &rule.release, one.stale);
            for follows in edges.into_iter().flat_map(|edge| self.completed(vec![edge], 0)) {
                let fronted = fronted(state, &follows);
                let rest = rest().map(|other| Down { stale: other.stale || fronted, ..other });
                all.push((follows, rest.collect()));
            }
        }
        all
    }

    /// The key that stays down with a press or a hold, where letting it go matters.
    fn stays(&self, rule: Rule) -> Option<usize> {
        match rule.by {
            By::Press(key) | By::Hold(key) => self.late.contains(&(rule.screen, key)).then_some(key),
            By::Release(_) | By::Timer(_) | By::Event(_) => None,
        }
    }
}

fn sorted(down: impl Iterator<Item = Down>) -> Vec<Down> {
    let mut down: Vec<Down> = down.collect();
    down.sort_by_key(|one| (one.key, one.screen));
    down
}

/// Whether something else came to the front.
fn fronted(before: &State, follows: &Follows) -> bool {
    let entered = follows.edges.iter().any(|edge| edge.entered.is_some());
    entered || before.front() != follows.rest.front() || before.boxes.len() != follows.rest.boxes.len()
}
