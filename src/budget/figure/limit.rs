//! Limits that a project can set for a figure: where each stands, what is found where it is passed.

use crate::device::{Limit, Limits};
use crate::source::fault::Level::Error;
use crate::source::levels::Lint;
use crate::units::DAY;

/// A limit of a figure.
#[derive(Debug)]
pub struct LimitSpec {
    /// What is found where it is passed.
    pub lint: Lint,
    /// The key of `limits`.
    pub key: &'static str,
    of: fn(&Limits) -> Option<Limit<f64>>,
}

impl LimitSpec {
    /// The project's limit in the unit of its figure.
    pub fn of(&self, limits: &Limits) -> Option<Limit<f64>> {
        (self.of)(limits)
    }
}

macro_rules! limits {
    ($($name:ident: $id:literal, $key:literal, $field:ident, $scale:expr, $about:literal;)*) => {
        $(
            #[doc = $about]
            pub static $name: LimitSpec = LimitSpec {
                lint: Lint { id: $id, level: Error, about: $about },
                key: $key,
                of: |limits| {
                    let limit = limits.$field.as_ref()?;
                    Some(Limit { value: f64::from(limit.value) * $scale, span: limit.span.clone() })
                },
            };
        )*
    };
}

limits! {
    RAM: "limit-ram", "ram", ram, 1.0, "The frame buffer takes more RAM than the project's limit.";
    FLASH: "limit-flash", "flash", flash, 1.0, "Images, glyphs and strings take more flash than the project's limit.";
    ENERGY: "limit-energy", "update-energy", update_energy, 1.0, "An update takes more energy than the project's limit.";
    LATENCY: "limit-latency", "latency", latency, 1.0, "A key press is seen later than the project's limit allows.";
    RESIDUE: "limit-residue", "residue", residue, 100.0, "The ghosting residue is above the project's limit.";
    REFRESHES: "limit-refreshes", "refreshes-per-day", refreshes_per_day, 1.0, "There are more refreshes a day than the project's limit.";
    LIFE: "limit-life", "life", life, 1.0 / DAY.0, "The battery life (P10) is shorter than the project's limit.";
}
