//! Texts with live values, against their words and widths.

use super::*;
use rand::{RngExt, SeedableRng};

fn values(now: &[f64]) -> Values {
    let start = jiff::civil::date(2031, 4, 12).at(0, 0, 0, 0);
    Values { start, now: now.to_vec(), past: vec![Vec::new(); now.len()].into(), version: vec![0; now.len()] }
}

#[test]
fn numbers_have_a_true_minus_and_no_negative_zero() {
    let shown = |value, decimals| {
        let mut text = String::new();
        number(value, decimals, &mut text);
        text
    };
    assert_eq!(shown(-1.44, 1), "−1.4");
    assert_eq!(shown(-0.04, 1), "0.0");
    assert_eq!(shown(f64::NAN, 1), "–");
}

/// The first choice or midnight in its place would be taken for a reading.
#[test]
fn a_missing_value_is_a_dash_of_every_kind() {
    let field = FieldId(0);
    let clock = Piece::Clock { field, pattern: "%H:%M".into() };
    for piece in [Piece::Choice { field, texts: vec!["calm".into(), "storm".into()] }, clock] {
        assert_eq!(Template { pieces: vec![piece] }.text(&values(&[f64::NAN])), "–");
    }
}

#[test]
fn numbers_are_those_of_the_standard_library() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(4);
    for _ in 0..50_000 {
        let (decimals, whole) = (random.random_range(0..8), random.random_range(-20_000_i64..20_000));
        let near = [0.0, 0.5, 0.499_999_9, 0.500_000_1, random.random()][random.random_range(0..5)];
        let value = (whole as f64 + near) / 10_f64.powi(decimals as i32 - random.random_range(0..2));
        let mut text = String::new();
        number(value, decimals, &mut text);
        let exact = format!("{value:.decimals$}").replace('-', "−");
        let zero = exact.chars().all(|c| "−0.".contains(c));
        assert_eq!(text, if zero { exact.replace('−', "") } else { exact }, "{value:e}");
    }
}

#[test]
fn pieces_join_into_the_text_of_the_moment() {
    let template = Template {
        pieces: vec![
            Piece::Fixed("at ".into()),
            Piece::Clock { field: FieldId(0), pattern: "%H:%M".into() },
            Piece::Fixed(" ".into()),
            Piece::Choice { field: FieldId(1), texts: vec!["low".into(), "high".into()] },
        ],
    };
    assert_eq!(template.text(&values(&[3_660.0 * 5.0, 1.0])), "at 05:05 high");
    assert!(template.extremes().iter().any(|text| text == "at 20:28 high"));
}

#[test]
fn a_number_needs_every_digit_and_a_date_every_name() {
    let number = Piece::Number { field: FieldId(0), decimals: 1, range: [-20.0, 45.0] };
    assert_eq!(number.characters().into_iter().collect::<String>(), ".0123456789−");
    let months = Piece::Clock { field: FieldId(0), pattern: "%B".into() };
    assert!("JFMASONDuyebrptmvcglhino".chars().all(|letter| months.characters().contains(&letter)));
}

#[test]
fn extremes_hold_both_ends_of_a_range() {
    let piece = Piece::Number { field: FieldId(0), decimals: 1, range: [-20.0, 45.0] };
    assert_eq!(piece.extremes(), ["−88.8", "88.8"]);
}

/// Times of day are written without reading their pattern; the calendar library writes them the same.
#[test]
fn times_of_day_are_those_of_the_calendar() {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(6);
    for _ in 0..5_000 {
        let scale = [100.0, 86_400.0, 1e7, 1e10, 1e13, 1e300][random.random_range(0..6)];
        let seconds = scale * (2.0 * random.random::<f64>() - 1.0);
        for hour in [0, 7] {
            let start = jiff::civil::date(2031, 4, 12).at(hour, 0, 0, 0);
            let values = Values { start, ..values(&[seconds]) };
            let clock = Piece::Clock { field: FieldId(0), pattern: "%H:%M".into() };
            let wanted = values.moment(seconds).strftime("%H:%M").to_string();
            assert_eq!(Template { pieces: vec![clock] }.text(&values), wanted, "{seconds}");
        }
    }
}
