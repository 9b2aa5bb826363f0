//! The smallest, the typical (median) and the largest of several measured values.

use crate::units::Quantity;

/// The spread of a measured quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread<Q> {
    /// Smallest.
    pub min: Q,
    /// Median; of an even number of values the mean of the middle two.
    pub typ: Q,
    /// Largest.
    pub max: Q,
}

impl<Q: Quantity> Spread<Q> {
    /// The spread of some values. `None` of none.
    pub fn of(values: impl IntoIterator<Item = Q>) -> Option<Self> {
        let mut sorted: Vec<f64> = values.into_iter().map(Into::into).collect();
        sorted.sort_by(f64::total_cmp);
        let (min, max) = (*sorted.first()?, *sorted.last()?);
        let middle = sorted.len() / 2;
        let typ = if sorted.len() % 2 == 1 { sorted[middle] } else { (sorted[middle - 1] + sorted[middle]) / 2.0 };
        Some(Self { min: Q::from(min), typ: Q::from(typ), max: Q::from(max) })
    }

    /// Each of the three turned into another quantity by a rising function.
    pub fn map<P>(self, to: impl Fn(Q) -> P) -> Spread<P> {
        Spread { min: to(self.min), typ: to(self.typ), max: to(self.max) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Seconds;

    #[test]
    fn typical_is_the_median() {
        let spread = Spread::of([3.0, 1.0, 10.0].map(Seconds)).unwrap();
        assert_eq!((spread.min, spread.typ, spread.max), (Seconds(1.0), Seconds(3.0), Seconds(10.0)));
        assert_eq!(Spread::of([3.0, 1.0, 2.0, 10.0].map(Seconds)).unwrap().typ, Seconds(2.5));
        assert_eq!(Spread::<Seconds>::of([]), None);
    }
}
