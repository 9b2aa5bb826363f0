//! Temperature over the day and over the year.

use crate::units::{Celsius, DAY, Seconds, YEAR};
use jiff::civil::DateTime;
use std::sync::Arc;

/// Daily low and high of the twelve months, January first.
pub type Months = [[Celsius; 2]; 12];

/// Temperature over the day: a cosine between the day's low and its high. The two may move over the year.
#[derive(Clone, Debug)]
pub struct Climate {
    /// The lowest temperature there is.
    pub low: Celsius,
    /// The highest temperature there is.
    pub high: Celsius,
    /// Time of the day's highest, after midnight.
    pub warmest: Seconds,
    mean: Celsius,
    year: Option<Year>,
    swings: Arc<[f64]>,
}

/// Lows and highs that move over the year.
#[derive(Clone, Copy, Debug)]
struct Year {
    months: Months,
    /// From the start of its year to the midnight from which times count.
    begins: Seconds,
}

impl Climate {
    /// The same every day.
    pub fn daily(low: Celsius, high: Celsius, warmest: Seconds) -> Self {
        let swings = around(cosine([low, high], 8));
        Self { low, high, warmest, mean: (low + high) / 2.0, year: None, swings }
    }

    /// Different in each month. Times count from the midnight `start`; the mean is that of the `days` after it.
    pub fn yearly(months: Months, warmest: Seconds, start: DateTime, days: u32) -> Self {
        let begins = Seconds(f64::from(start.date().day_of_year() - 1) * DAY.0);
        let year = Year { months, begins };
        let of_day = |day: u32| {
            let [low, high] = year.of(DAY * (f64::from(day) + 0.5));
            (low + high) / 2.0
        };
        let sum: f64 = (0..days.max(1)).map(|day| of_day(day).0).sum();
        // So many days evenly among them; all of fewer.
        let count = days.clamp(1, 24);
        let some = (0..count).map(|one| DAY * (f64::from(days.max(1)) * (f64::from(one) + 0.5) / f64::from(count)));
        let swings = around(some.flat_map(|time| cosine(year.of(time), 4)));
        let lows = months.iter().map(|[low, _]| low.0).fold(f64::INFINITY, f64::min);
        let highs = months.iter().map(|[_, high]| high.0).fold(f64::NEG_INFINITY, f64::max);
        Self {
            low: Celsius(lows),
            high: Celsius(highs),
            warmest,
            mean: Celsius(sum / f64::from(days.max(1))),
            year: Some(year),
            swings,
        }
    }

    /// Temperature at a time counted from the first midnight.
    pub fn at(&self, time: Seconds) -> Celsius {
        let [low, high] = self.year.map_or([self.low, self.high], |year| year.of(time));
        let phase = (time - self.warmest) / DAY * std::f64::consts::TAU;
        (low + high) / 2.0 + (high - low) * (phase.cos() / 2.0)
    }

    /// The mean over the days that are simulated.
    pub fn mean(&self) -> Celsius {
        self.mean
    }

    /// Temperatures of the days that are simulated as deviations from their mean, in kelvin, each for as long: what rates
    /// that depend on the temperature are averaged over.
    pub fn swings(&self) -> &Arc<[f64]> {
        &self.swings
    }

    /// Whether it moves over the year.
    pub fn is_yearly(&self) -> bool {
        self.year.is_some()
    }
}

/// Temperatures of a day's cosine at evenly spaced angles: the rule of Gauss and Chebyshev, whose mean of a smooth rate is
/// exact to far below what is known of any.
fn cosine([low, high]: [Celsius; 2], angles: u32) -> impl Iterator<Item = f64> {
    let angle = move |one: u32| (f64::from(one) + 0.5) / f64::from(angles) * std::f64::consts::PI;
    (0..angles).map(move |one| (low.0 + high.0) / 2.0 + (high.0 - low.0) / 2.0 * angle(one).cos())
}

/// Temperatures as deviations from their mean.
fn around(all: impl Iterator<Item = f64>) -> Arc<[f64]> {
    let all: Vec<f64> = all.collect();
    let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
    all.into_iter().map(|one| one - mean).collect()
}

impl Year {
    /// Low and high of the day at a time: a month's pair stands for its middle, between middles they move evenly.
    fn of(&self, time: Seconds) -> [Celsius; 2] {
        let months = ((self.begins + time) / Seconds(YEAR) * 12.0 - 0.5).rem_euclid(12.0);
        let (before, share) = (months.floor() as usize % 12, months.fract());
        let (from, to) = (self.months[before], self.months[(before + 1) % 12]);
        [0, 1].map(|end| from[end] + (to[end] - from[end]) * share)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOON: Seconds = Seconds(43_200.0);

    #[test]
    fn the_day_is_warmest_when_stated() {
        let climate = Climate::daily(Celsius(-3.0), Celsius(9.0), Seconds(15.0 * 3600.0));
        assert!((climate.at(Seconds(15.0 * 3600.0)).0 - 9.0).abs() < 1e-9);
        assert!((climate.at(Seconds(3.0 * 3600.0)).0 + 3.0).abs() < 1e-9);
        assert_eq!(climate.mean(), Celsius(3.0));
    }

    /// A rate that doubles with every 10 K over a day from 0 to 40 °C: its mean is that of `exp(2 ln 2 cos)`, the Bessel
    /// function `I0(2 ln 2)` by its series, 1.54 times the rate at 20 °C.
    #[test]
    fn a_rate_is_averaged_over_the_day() {
        let climate = Climate::daily(Celsius(0.0), Celsius(40.0), NOON);
        let mean = climate.swings().iter().map(|swing| (swing / 10.0).exp2()).sum::<f64>() / 8.0;
        let quarter = std::f64::consts::LN_2.powi(2);
        let series = (0..12).scan(1.0, |term, k| {
            let now = *term;
            *term *= quarter / f64::from(k + 1).powi(2);
            Some(now)
        });
        let bessel: f64 = series.sum();
        assert!((mean / bessel - 1.0).abs() < 1e-9 && (bessel - 1.5413).abs() < 1e-4, "{mean} for {bessel}");
    }

    /// Over a year the swings are those of its days: their variance is that of the season and of the day together.
    #[test]
    fn a_year_swings_by_season_and_by_day() {
        let new_year = jiff::civil::date(2031, 1, 1).at(0, 0, 0, 0);
        let climate = Climate::yearly(months(), NOON, new_year, 365);
        let of = |all: &[f64]| all.iter().map(|one| one * one).sum::<f64>() / all.len() as f64;
        let hours: Vec<f64> = (0..365 * 24).map(|hour| climate.at(Seconds(3600.0 * f64::from(hour))).0).collect();
        let mean = hours.iter().sum::<f64>() / hours.len() as f64;
        let expected = of(&hours.iter().map(|one| one - mean).collect::<Vec<_>>());
        assert!((of(climate.swings()) / expected - 1.0).abs() < 0.02, "{} for {expected}", of(climate.swings()));
    }

    /// January -10 to 0 °C, July 20 to 30 °C, even between.
    fn months() -> Months {
        std::array::from_fn(|month| {
            let low = -10.0 + 5.0 * (6.0 - (month as f64 - 6.0).abs());
            [Celsius(low), Celsius(low + 10.0)]
        })
    }

    #[test]
    fn the_middle_of_a_month_has_its_pair_and_the_year_closes() {
        let new_year = jiff::civil::date(2031, 1, 1).at(0, 0, 0, 0);
        let climate = Climate::yearly(months(), NOON, new_year, 365);
        let noon_of = |day: f64| climate.at(DAY * day + NOON).0;
        let middle_of_july = (YEAR / 12.0 * 6.5 / DAY.0).floor();
        assert!((noon_of(middle_of_july) - 30.0).abs() < 0.2, "{}", noon_of(middle_of_july));
        // Between the middles of December (-5 to 5 °C) and January (-10 to 0 °C) lies New Year.
        assert!((noon_of(0.0) - 2.5).abs() < 0.2, "{}", noon_of(0.0));
        assert!((noon_of(365.0) - noon_of(0.0)).abs() < 0.2);
        assert_eq!((climate.low, climate.high), (Celsius(-10.0), Celsius(30.0)));
    }

    #[test]
    fn the_mean_is_that_of_the_days_simulated() {
        let of = |month: i8, days: u32| {
            Climate::yearly(months(), NOON, jiff::civil::date(2031, month, 1).at(0, 0, 0, 0), days).mean().0
        };
        let mean = months().iter().map(|[low, high]| (low.0 + high.0) / 2.0).sum::<f64>() / 12.0;
        assert!((of(1, 365) - mean).abs() < 0.1 && (of(9, 365) - mean).abs() < 0.1);
        assert!(of(7, 7) > 20.0 && of(1, 7) < 0.0, "a week in July, a week in January");
    }
}
