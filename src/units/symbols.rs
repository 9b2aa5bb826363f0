//! Numbers with the symbols of their units as text, for whoever scales what a person wrote. Not for reading a quantity:
//! that is [`super::Quantity::parse`].

use super::{
    Amps, Bytes, Celsius, Coulombs, Hertz, Joules, Metres, Ohms, PerSecond, Quantity, Ratio, Seconds, Volts, Watts,
    unit_start,
};

/// SI symbol and accepted symbols of every quantity.
const QUANTITIES: [(&str, &[(&str, f64)]); 13] = [
    (Seconds::SI, Seconds::SYMBOLS),
    (Amps::SI, Amps::SYMBOLS),
    (Volts::SI, Volts::SYMBOLS),
    (Ohms::SI, Ohms::SYMBOLS),
    (Coulombs::SI, Coulombs::SYMBOLS),
    (Joules::SI, Joules::SYMBOLS),
    (Watts::SI, Watts::SYMBOLS),
    (Hertz::SI, Hertz::SYMBOLS),
    (Metres::SI, Metres::SYMBOLS),
    (Celsius::SI, Celsius::SYMBOLS),
    (Ratio::SI, Ratio::SYMBOLS),
    (PerSecond::SI, PerSecond::SYMBOLS),
    (Bytes::SI, Bytes::SYMBOLS),
];

/// The symbol as the units' table spells it.
fn plain(symbol: &str) -> String {
    symbol.replace(['µ', 'μ'], "u").replace('Ω', "Ohm")
}

/// How many of the unit `to` one unit `from` makes. `None` when no quantity has both.
pub fn factor(from: &str, to: &str) -> Option<f64> {
    let (from, to) = (plain(from), plain(to));
    if from == to {
        return Some(1.0);
    }
    let of = |symbols: &[(&str, f64)], name: &str| symbols.iter().find(|(known, _)| *known == name).map(|row| row.1);
    QUANTITIES.iter().find_map(|(_, symbols)| Some(of(symbols, &from)? / of(symbols, &to)?))
}

/// A value in SI in another unit. `None` when the quantity with this SI symbol does not have it.
pub fn from_si(value: f64, si: &str, to: &str) -> Option<f64> {
    let to = plain(to);
    let (_, symbols) = QUANTITIES.iter().find(|(symbol, _)| *symbol == si)?;
    symbols.iter().find(|(known, _)| *known == to).map(|(_, factor)| value / factor)
}

/// A number and the symbol of its unit, which may be empty. `None` when the text does not begin with a number.
pub fn number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let (number, symbol) = text.split_at(unit_start(text));
    let number: f64 = number.trim().parse().ok()?;
    number.is_finite().then_some((number, symbol.trim()))
}
