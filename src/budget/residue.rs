//! The worst ghosting residue of the simulated days, as far as the panel's share is stated: how much, where, how long.
//!
//! Not for how it adds up: see [`crate::refresh::residue`]. The word assumption stands beside it where the share has no
//! source.

use crate::device::Device;
use crate::refresh::residue::{Residue, Worst};
use crate::simulate::counts::Counts;
use crate::units::{Ratio, figures, plain_time};
use embedded_graphics::primitives::Rectangle;
use serde_json::{Value, json};

/// The worst residue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ghost {
    /// Share of the contrast: what one partial refresh leaves, times their number, at most all of it.
    pub share: Ratio,
    /// Where and how long.
    pub worst: Worst,
    /// The share of one partial refresh has no source.
    pub assumed: bool,
}

/// The worst residue of the simulated days. `None` where the panel states none, or nothing is refreshed partially.
pub fn worst(device: &Device, counts: &Counts) -> Option<Ghost> {
    let (stated, worst) = (device.panel.residue?, counts.residue_worst?);
    let row = device.inputs.row(stated);
    let share = Ratio((row.typ * f64::from(worst.partials)).min(1.0));
    Some(Ghost { share, worst, assumed: row.source.is_none() })
}

/// Which residue is shaded where the panel is shown: more than a share of the contrast.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shading {
    /// The share above which a pixel is shaded.
    pub above: Ratio,
    /// What one partial refresh leaves.
    one: Ratio,
    assumed: bool,
}

impl Shading {
    /// Above a share; `None` where the panel states no residue.
    pub fn of(device: &Device, above: Ratio) -> Option<Self> {
        let row = device.inputs.row(device.panel.residue?);
        Some(Self { above, one: Ratio(row.typ), assumed: row.source.is_none() })
    }

    /// The areas that are shaded, in pixels of the upright image.
    pub fn regions(&self, residue: &Residue) -> Vec<Rectangle> {
        residue.above(self.above, self.one).collect()
    }

    /// The most of any pixel: `4.5 % (assumption)`.
    pub fn most(&self, residue: &Residue) -> String {
        let most = (self.one.0 * f64::from(residue.most())).min(1.0) * 100.0;
        format!("{} %{}", figures(most), if self.assumed { " (assumption)" } else { "" })
    }
}

/// The word that stands beside a residue; empty where its share has a source.
pub fn caveat(assumed: bool) -> &'static str {
    if assumed { " (an assumption: panel.residue has no source)" } else { "" }
}

impl Ghost {
    /// The upper left corner of its pixels.
    fn corner(&self) -> (i32, i32) {
        (self.worst.area.top_left.x, self.worst.area.top_left.y)
    }

    /// The element that lies there on the screen that was shown, the uppermost; `None` where there is none.
    fn element(&self, device: &Device) -> Option<String> {
        let items = device.screens[self.worst.screen.0].pictures.first()?;
        let there = items.iter().rev().find(|item| item.area.intersection(&self.worst.area).size.width > 0)?;
        Some(there.called())
    }

    /// In a sentence.
    pub fn words(&self, device: &Device) -> String {
        let (x, y) = self.corner();
        let screen = &device.screens[self.worst.screen.0].id;
        let element = self.element(device).map_or(String::new(), |element| format!(" {element} of"));
        format!(
            "Worst ghosting residue: {} % of the contrast{}, at{element} `{screen}`, {x}, {y} px, after {} partial refreshes, \
             for {} until the next full one.",
            figures(self.share.0 * 100.0),
            caveat(self.assumed),
            self.worst.partials,
            plain_time(self.worst.lasted)
        )
    }

    /// For other programs.
    pub fn json(&self, device: &Device) -> Value {
        let (x, y) = self.corner();
        json!({
            "contrast_share": self.share.0,
            "partials": self.worst.partials,
            "at": { "x": x, "y": y },
            "screen": device.screens[self.worst.screen.0].id,
            "element": self.element(device),
            "lasts_s": self.worst.lasted.0,
            "assumption": self.assumed,
        })
    }
}
