//! Temperature over the day and over the year.

use crate::units::{Celsius, DAY, Seconds, YEAR};
use jiff::civil::DateTime;

/// Daily low and high of the twelve months, January first.
pub type Months = [[Celsius; 2]; 12];

/// Temperature over the day: a cosine between the day's low and its high. The two may move over the year.
#[derive(Clone, Copy, Debug)]
pub struct Climate {
    /// The lowest temperature there is.
    pub low: Celsius,
    /// The highest temperature there is.
    pub high: Celsius,
    /// Time of the day's highest, after midnight.
    pub warmest: Seconds,
    mean: Celsius,
    year: Option<Year>,
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
        Self { low, high, warmest, mean: (low + high) / 2.0, year: None }
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
        let lows = months.iter().map(|[low, _]| low.0).fold(f64::INFINITY, f64::min);
        let highs = months.iter().map(|[_, high]| high.0).fold(f64::NEG_INFINITY, f64::max);
        Self {
            low: Celsius(lows),
            high: Celsius(highs),
            warmest,
            mean: Celsius(sum / f64::from(days.max(1))),
            year: Some(year),
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

    /// Whether it moves over the year.
    pub fn is_yearly(&self) -> bool {
        self.year.is_some()
    }
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
