//! Numbers with the symbols of their units as text, for whoever scales what a person wrote. Not for reading a quantity:
//! that is [`super::Quantity::parse`].

use super::{
    Amps, Bytes, Celsius, Coulombs, Farads, Hertz, Joules, Metres, Ohms, PerSecond, Quantity, Ratio, Seconds, Volts,
    Watts, unit_start,
};

/// SI symbol and accepted symbols of every quantity.
const QUANTITIES: [(&str, &[(&str, f64)]); 14] = [
    (Seconds::SI, Seconds::SYMBOLS),
    (Amps::SI, Amps::SYMBOLS),
    (Volts::SI, Volts::SYMBOLS),
    (Ohms::SI, Ohms::SYMBOLS),
    (Farads::SI, Farads::SYMBOLS),
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

/// The unit that a bare number is most likely meant in, where `known` is a usual value: the one that brings it nearest.
/// `None` where the known value has no unit.
pub fn likeliest<'t>(bare: &str, known: &'t str) -> Option<&'t str> {
    let (usual, own) = number(known).filter(|(_, unit)| !unit.is_empty())?;
    let Ok(bare) = bare.trim().parse::<f64>() else { return Some(own) };
    let symbol = plain(own);
    let symbols = QUANTITIES.iter().find(|(_, symbols)| symbols.iter().any(|(name, _)| *name == symbol))?.1;
    // Only SI and binary prefixes: nobody who writes 30 beside 2 h means days.
    let root = |name: &str| name.trim_start_matches(['k', 'M', 'm', 'u', 'n', 'p', 'K', 'i']).to_owned();
    let si = |name: &str| root(name) == root(&symbol);
    let far = |name: &str| factor(name, own).map_or(f64::INFINITY, |factor| (bare * factor / usual).ln().abs());
    let better = |name: &&str| far(name) + 1e-9 < far(&symbol);
    let near = symbols.iter().map(|(name, _)| *name).filter(|name| si(name)).filter(better);
    near.min_by(|a, b| far(a).total_cmp(&far(b))).or(Some(own))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_is_meant_in_the_unit_that_makes_it_usual() {
        for (bare, known, unit) in [
            ("0.2", "80 mOhm", "Ohm"),
            ("200", "80 mOhm", "mOhm"),
            ("16", "8 MHz", "MHz"),
            ("5.2", "4.5 mA", "mA"),
            ("30", "2 h", "h"),
            ("0", "80 mOhm", "mOhm"),
            ("6144", "10 KiB", "B"),
            ("6", "10 KiB", "KiB"),
            ("-5", "20 °C", "°C"),
        ] {
            assert_eq!(likeliest(bare, known), Some(unit), "{bare} beside {known}");
        }
        assert_eq!(likeliest("5", "5"), None);
    }
}
