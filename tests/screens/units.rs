//! One field in units that a setting chooses, and numbers, dates and times as locales write them.

use crate::sheet::Sheet;
use inkjoule::assets::formats::Format;
use inkjoule::frame::Frame;
use inkjoule::screen::operation::Shape;

/// Exact by definition: the international foot is 0.3048 m (Barrow, NIST Handbook 44, appendix C).
const LEVEL: &str = "
    fields.system = { choices = ['metric', 'feet'] }
    fields.level = { quantity = 'length', range = [0, 12], sample = 3.048 }
    quantities.length = { by = 'system', units = [
        { unit = 'm', decimals = 2 },
        { unit = 'ft', factor = 3.280839895013123, decimals = 1 },
    ] }
";

fn sheet(size: &str, content: &str, more: &str) -> Sheet {
    Sheet::new(&format!("size = {size}\nscreen.content = {content}\n{LEVEL}{more}"))
}

/// Every text of the first screen, as it is with the values of the moment.
fn texts(sheet: &Sheet, locale: usize) -> Vec<String> {
    let items = &sheet.device.screens[0].pictures[locale];
    let operations = items.iter().flat_map(|item| &item.operations).filter(|one| one.guard.holds(&sheet.values));
    operations
        .filter_map(|operation| match &operation.shape {
            Shape::Text(text) => Some(text.template.text(&sheet.values).into_owned()),
            Shape::Value(value) => {
                Some(format!("{} {}", value.number.text(&sheet.values), value.unit.text(&sheet.values)))
            }
            Shape::Label(label) => Some(label.text.clone()),
            _ => None,
        })
        .collect()
}

#[test]
fn texts_and_values_follow_the_unit() {
    let mut sheet =
        sheet("[160, 40]", "[ { column = [ { text = 'Level {level} {level.unit}' }, { value = 'level' } ] } ]", "");
    assert_eq!(texts(&sheet, 0), ["Level 3.05 m", "3.05 m"]);
    sheet.set("system", 1.0);
    assert_eq!(texts(&sheet, 0), ["Level 10.0 ft", "10.0 ft"]);
    // The largest value is 12 m, 39.4 ft; both fit.
    let needs: Vec<String> =
        sheet.device.screens[0].pictures[0].iter().flat_map(|item| item.texts()).map(|text| text.text).collect();
    assert!(needs[0].starts_with("Level 88.88 "), "{}", needs[0]);
    let fields: Vec<usize> = sheet.device.screens[0].pictures[0][0].fields().iter().map(|field| field.0).collect();
    let system = sheet.device.field("system").unwrap().0;
    assert!(fields.contains(&system), "{fields:?}");
}

#[test]
fn a_value_s_unit_keeps_its_place_when_the_setting_changes() {
    let mut sheet = sheet("[46, 9]", "[ { value = 'level', font = 'small', unit-font = 'small' } ]", "");
    let metres = sheet.draw();
    let feet = sheet.set("system", 1.0).draw();
    // The digits end at the same column: in what lies left of the unit only digits differ.
    let ends = |frame: &Frame| (0..30).rev().find(|x| (0..9).any(|y| frame.ink(*x, y))).unwrap();
    assert!(ends(&metres).abs_diff(ends(&feet)) <= 1, "{metres}\n{feet}");
}

#[test]
fn a_gauge_has_round_ticks_in_the_unit_shown() {
    let mut sheet = sheet("[140, 30]", "[ { gauge = 'level', ticks = 4, font = 'small' } ]", "");
    assert_eq!(texts(&sheet, 0), ["0", "5", "10"]);
    sheet.set("system", 1.0);
    assert_eq!(texts(&sheet, 0), ["0", "10", "20", "30"]);
}

#[test]
fn a_chart_is_drawn_in_the_unit_shown() {
    // 3.048 m is 10 ft and 0.6096 m is 2 ft: with edges at 0 and 12 m the curve has the same place in both units, and
    // the numbers at its axis differ.
    let chart = "[ { chart = 'level', samples = 4, low = 0, high = 12, time = 'none', font = 'small' } ]";
    let mut sheet = sheet("[60, 40]", chart, "");
    sheet.past("level", &[0.6096, 3.048, 3.048, 6.096]);
    let metres = sheet.draw();
    let feet = sheet.set("system", 1.0).draw();
    let plot = |frame: &Frame| -> Vec<bool> {
        (22..60).flat_map(|x| (0..38).map(move |y| (x, y))).map(|(x, y)| frame.ink(x, y)).collect()
    };
    assert!(metres != feet && plot(&metres) == plot(&feet), "{metres}\n{feet}");
}

#[test]
fn locales_write_numbers_dates_and_times_their_own_way() {
    let content = "[ { column = [ { text = '{count}' }, { text = '{now}' }, { text = '{clock}' } ] } ]";
    let more = "
        formats = { thousands = true, locales = { it = 'it-CH' } }
        fields.count = { range = [0, 2000000], decimals = 1, sample = 1234567.8 }
        fields.now = { clock = '%x %X', sample = 54420 }
        fields.hours = { choices = ['24 h', '12 h'] }
        fields.clock = { clock = { by = 'hours', patterns = ['%H:%M', '%-I:%M %p'] }, sample = 54420 }
        strings.de.a = 'a'\nstrings.en-GB.a = 'a'\nstrings.en-IN.a = 'a'\nstrings.en-US.a = 'a'\nstrings.it.a = 'a'
    ";
    let mut sheet = sheet("[160, 60]", content, more);
    let all: Vec<Vec<String>> = (0..5).map(|locale| texts(&sheet, locale)).collect();
    assert_eq!(sheet.device.locales, ["de", "en-GB", "en-IN", "en-US", "it"]);
    assert_eq!(all[0], ["1.234.567,8", "12.04.2031 15:07", "15:07"]);
    assert_eq!(all[1], ["1,234,567.8", "12/04/2031 15:07", "15:07"]);
    assert_eq!(all[2][0], "12,34,567.8");
    assert_eq!(all[3], ["1,234,567.8", "4/12/2031 3:07\u{a0}PM", "15:07"]);
    assert_eq!(all[4][0], "1'234'567.8");
    sheet.set("hours", 1.0);
    assert_eq!(texts(&sheet, 0)[2], "3:07 PM");
    // The widest line has the groups that the number can have.
    let widest = &sheet.device.screens[0].pictures[0][0].texts()[0];
    assert_eq!(widest.text, "8.888.888,8");
}

/// The table against ICU4X's own data (crates icu_decimal and icu_datetime, CLDR 48).
#[test]
fn the_table_is_cldr_s() {
    use icu_datetime::fieldsets::{T, YMD};
    use icu_datetime::input::{Date, Time};
    use icu_datetime::options::{Length, YearStyle};
    use icu_datetime::{DateTimeFormatter, NoCalendarFormatter};
    use icu_decimal::DecimalFormatter;
    let same = |text: String| text.replace('\u{202f}', "\u{a0}").replace('-', "−");
    let moment = jiff::civil::date(2031, 4, 9).at(15, 7, 0, 0);
    for name in Format::known() {
        let format = Format::of(name).unwrap();
        let locale: icu_locale_core::Locale = name.parse().unwrap();
        let numbers = DecimalFormatter::try_new(locale.clone().into(), Default::default()).unwrap();
        for plain in ["-1234567.8", "1234.5", "123.25", "98765"] {
            let theirs = same(numbers.format(&plain.parse().unwrap()).to_string());
            assert_eq!(format.marks.put(&plain.replace('-', "−")), theirs, "{name}");
        }
        let dates = YMD::short().with_year_style(YearStyle::Full);
        let dates = DateTimeFormatter::try_new(locale.clone().into(), dates).unwrap();
        let theirs = dates.format(&Date::try_new_iso(2031, 4, 9).unwrap()).to_string();
        assert_eq!(same(moment.strftime(&format.date).to_string()), same(theirs), "{name}");
        let times = NoCalendarFormatter::try_new(locale.into(), T::hm().with_length(Length::Short)).unwrap();
        for hour in [9, 15] {
            let theirs = times.format(&Time::try_new(hour, 7, 0, 0).unwrap()).to_string();
            let moment = moment.with().hour(hour as i8).build().unwrap();
            assert_eq!(same(moment.strftime(&format.time).to_string()), same(theirs), "{name}");
        }
    }
}

#[test]
fn quantities_that_cannot_be_meant_are_refused_at_their_place() {
    let refused = |fields: &str, expected: &str| {
        let text = format!("size = [60, 20]\nscreen.content = [ {{ text = 'x' }} ]\n{fields}");
        let faults = Sheet::read(&text).err().unwrap_or_default();
        assert!(faults.iter().any(|fault| fault.message.contains(expected)), "{expected}: {faults:?}");
    };
    let units = |units: &str| {
        format!("fields.s = {{ choices = ['a', 'b'] }}\nquantities.q = {{ by = 's', units = [{units}] }}")
    };
    refused(&units("{ unit = 'm' }"), "`s` does not choose among these units");
    refused(&units("{ unit = 'm' }, { unit = 'ft', factor = 0 }"), "a factor is above 0");
    refused(
        &units("{ unit = 'm', factor = 2.0 }, { unit = 'ft' }"),
        "the first unit is the one that values are held in",
    );
    refused(
        "fields.l = { quantity = 'lenght', range = [0, 1] }\nquantities.length = { by = 'x', units = [] }",
        "there is no quantity `lenght`",
    );
    refused(
        &(units("{ unit = 'm' }, { unit = 'ft' }") + "\nfields.l = { quantity = 'q', range = [0, 1], unit = 'm' }"),
        "no `unit` or `decimals`",
    );
    refused("formats = { like = 'xx' }", "how the locale `xx` writes numbers and dates is unknown");
    refused("fields.c = { clock = { by = 'none', patterns = ['%H'] } }", "there is no field `none`");
    let unknown = "formats = {}\nstrings.xx.a = 'a'";
    refused(unknown, "how the locale `xx` writes");
}

#[test]
fn a_picture_of_a_number_with_the_mark_of_its_locale() {
    let text = "size = [17, 9]
        formats = { like = 'de' }
        fields.n = { range = [0, 9], decimals = 1, sample = 1.5 }
        screen.content = [ { text = '{n}', font = 'small' } ]";
    let comma = Sheet::new(text).draw();
    let point = Sheet::new(&text.replace("'de'", "'en'")).draw();
    // Only the mark differs: its tail below the base line.
    let row = |frame: &Frame, y| (0..17).any(|x| frame.ink(x, y));
    let last = |frame: &Frame| (0..9).rev().find(|y| row(frame, *y)).unwrap();
    assert_eq!(last(&comma), last(&point) + 1, "{comma}\n{point}");
}
