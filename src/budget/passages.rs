//! What every passage of the flow that exploration meets takes from the panel.

use super::transition::{PictureChange, picture_change};
use crate::cost::energy::window_cost;
use crate::device::Device;
use crate::machine::canvas::{drawn, scenes_of};
use crate::machine::explore::{By, Exploration, fire};
use crate::machine::state::State;
use crate::parameters::ParameterSample;
use crate::refresh::update::Planner;
use crate::screen::ScreenId;

/// A passage of the flow with its update.
#[derive(Debug)]
pub struct PassageUpdate {
    /// What is in front before.
    pub from: ScreenId,
    /// What makes the device act.
    pub by: By,
    /// What is in front then.
    pub to: ScreenId,
    /// The screen that is entered; none where a box opens or closes, or only fields change.
    pub entered: Option<ScreenId>,
    /// Its update in a quiet moment; `None` outside the panel's tables.
    pub update: Option<PictureChange>,
}

/// Every passage that exploration met, with its update: with the sample values where these lead the same way, as in
/// [`super::transition::transitions`], else as it was met.
pub fn passage_updates(device: &Device, parameters: &ParameterSample, found: &Exploration) -> Vec<PassageUpdate> {
    let temperature = device.usage.climate.mean();
    let mut planner = Planner::new(window_cost(device, parameters));
    let draw = |state: &State| drawn(device, state, 0);
    let mut all = Vec::new();
    for passage in &found.passages {
        let (from, to) = (passage.before.front(), passage.after.front());
        let sample = State::sample(device, from).and_then(|before| {
            let (after, entered) = fire(device, &before, passage.by)?;
            (after.front() == to).then_some((before, after, entered))
        });
        let (before, after, entered) = match &sample {
            Some((before, after, entered)) => (before, after, *entered),
            None => (&passage.before, &passage.after, passage.entered),
        };
        let pictures = (&draw(before), &draw(after));
        let scenes = scenes_of(device, before, after, 0);
        let update = picture_change(device, parameters, temperature, &mut planner, entered, pictures, &scenes);
        all.push(PassageUpdate { from, by: passage.by, to, entered, update });
    }
    all
}
