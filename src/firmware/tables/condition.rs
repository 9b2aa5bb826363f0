//! Conditions in whole numbers: a field's value is counted in units of its last decimal.

use crate::device::Device;
use crate::screen::values::{Condition, FieldId, Limit, Test};

/// A condition that firmware tests with integers: `field * scale` against `other * other_scale` or against `limit`.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Check {
    /// The position of the field.
    pub field: usize,
    /// What must hold.
    pub test: Relation,
    /// The limit in units of the field's last decimal; without meaning where `other` is given.
    pub limit: i32,
    /// The other field and the factors that bring both to the same decimals: this field's, the other's.
    pub other: Option<(usize, i32, i32)>,
}

/// What must hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Relation {
    /// Below the limit.
    Below,
    /// At the limit or above.
    From,
    /// Equal to the limit.
    Is,
    /// Never true: the limit is no value that the field can have.
    Never,
}

/// Decimals of a field as firmware holds it: those shown in its own unit, and more where keys change it in others.
pub fn decimals(device: &Device, field: usize) -> u32 {
    device.fields.get(field).map_or(0, |field| field.held())
}

impl Check {
    /// The condition in whole numbers.
    pub fn of(device: &Device, condition: &Condition) -> Self {
        let field = condition.field.0;
        let scale = 10f64.powi(decimals(device, field) as i32);
        let plain = |test, limit| Self { field, test, limit, other: None };
        // The least whole number of units that is not below the limit. Division as firmware's values are understood.
        let least = |limit: f64| {
            let near = (limit * scale).round().clamp(-2.0e9, 2.0e9);
            let first = [near - 1.0, near, near + 1.0].into_iter().find(|units| units / scale >= limit);
            first.unwrap_or(near) as i32
        };
        let between = |test, FieldId(other)| {
            let (mine, its) = (decimals(device, field), decimals(device, other));
            let most = mine.max(its);
            Self { field, test, limit: 0, other: Some((other, 10i32.pow(most - mine), 10i32.pow(most - its))) }
        };
        match condition.test {
            Test::Below(Limit::Number(limit)) => plain(Relation::Below, least(limit)),
            Test::From(Limit::Number(limit)) => plain(Relation::From, least(limit)),
            Test::Below(Limit::Field(other)) => between(Relation::Below, other),
            Test::From(Limit::Field(other)) => between(Relation::From, other),
            Test::Is(wanted) => {
                let units = (wanted * scale).round();
                let possible = units / scale == wanted && units.abs() < 2.0e9;
                plain(if possible { Relation::Is } else { Relation::Never }, if possible { units as i32 } else { 0 })
            }
        }
    }
}
