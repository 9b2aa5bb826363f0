//! Lists whose number of rows varies, a chart's cursor, editors.

use crate::sheet::Sheet;
use inkjoule::screen::operation::Shape;
use inkjoule::screen::values::FieldId;

const LIST: &str = "
    size = [40, 18]
    fields.posts = { range = [0, 5], sample = 5 }
    fields.row = { range = [0, 4], within = 'posts' }
    screen.content = [ { list = 'row', count = 'posts', empty = '-', row = ['#'], of = 5, font = 'small', row-height = 9 } ]
";

#[test]
fn a_list_has_as_many_rows_as_a_field_says() {
    let mut sheet = Sheet::new(LIST);
    let five = sheet.draw();
    let one = sheet.set("posts", 1.0).draw();
    let none = sheet.set("posts", 0.0).draw();
    // Two rows and a scroll bar; one row alone; the words for none.
    let scrolls = |frame: &inkjoule::frame::Frame| (0..18).any(|y| frame.ink(37, y));
    assert_eq!([&five, &one, &none].map(scrolls), [true, false, false], "{five}\n{one}\n{none}");
    assert_eq!(
        one.ink_count_in(embedded_graphics::primitives::Rectangle::new(
            embedded_graphics::prelude::Point::new(0, 9),
            embedded_graphics::prelude::Size::new(40, 9)
        )),
        0,
        "{one}"
    );
    let dash = ".".repeat(40);
    assert_eq!(none.row_text(0), dash);
    assert!(none.ink_count() > 0 && none.ink_count() < 8, "{none}");
}

#[test]
fn a_text_says_which_row_it_is_and_of_how_many() {
    let text = |words: &str, within: &str| {
        format!(
            "size = [60, 12]
            fields.posts = {{ range = [0, 12], sample = 9 }}
            fields.row = {{ range = [0, 11]{within} }}
            screen.content = [ {{ text = '{words}', font = 'small' }} ]"
        )
    };
    let drawn = |words: &str, within: &str, row: f64| Sheet::new(&text(words, within)).set("row", row).draw();
    // Counted from 1, of those that a field says exist, or of all.
    assert_eq!(drawn("{row.number}/{row.of}", ", within = 'posts'", 2.0), drawn("3/9", "", 0.0));
    assert_eq!(drawn("{row.number}/{row.of}", "", 11.0), drawn("12/12", "", 0.0));
    let faults = Sheet::read(&text("{row.number}", "").replace("[0, 11]", "[1, 11]")).err().unwrap_or_default();
    assert!(faults.iter().any(|fault| fault.message.contains("`row` does not count rows")), "{faults:?}");
}

#[test]
fn the_last_page_is_the_one_that_exists() {
    let mut sheet = Sheet::new(LIST);
    // Three rows exist: pages of two, the last one ends with the third.
    let third = sheet.set("posts", 3.0).set("row", 2.0).draw();
    // A selection beyond what exists is drawn at the last row.
    let beyond = sheet.set("row", 4.0).draw();
    assert_eq!(third, beyond);
    assert!(third.row_text(9).starts_with("####"), "{third}");
}

#[test]
fn a_list_that_cannot_be_meant_is_refused() {
    let refused = |text: &str, expected: &str| {
        let faults = Sheet::read(text).err().unwrap_or_default();
        assert!(faults.iter().any(|fault| fault.message.contains(expected)), "{expected}: {faults:?}");
    };
    refused(&LIST.replace(", within = 'posts'", ""), "`row` does not stay within the rows that exist");
    refused(&LIST.replace("range = [0, 5]", "range = [0, 9]"), "`posts` does not count the rows of this list");
    refused(&LIST.replace(", of = 5", ""), "a list has either `rows`, or `row` and `of`");
    refused(&LIST.replace("count = 'posts', ", ""), "`empty` needs `count`");
    refused(&LIST.replace("count = 'posts'", "count = 'post'"), "there is no field `post`");
    refused(
        &LIST.replace("range = [0, 4], within", "range = [1, 4], within"),
        "`within` is for a field that counts from 0",
    );
}

const CHART: &str = "
    size = [40, 24]
    fields.air = { range = [0, 8], sample = 4 }
    fields.back = { range = [0, 4] }
    past.air = [0, 8, 4, 2, 6]
    screen.content = [
        { chart = 'air', samples = 5, low = 0, high = 8, ticks = 0, time = 'none', stroke = 1, cursor = 'back', at = [0, 0], size = [22, 18] },
        { text = '{air@back}', font = 'small', at = [24, 0], size = [16, 9] },
        { value = 'air', back = 'back', font = 'small', unit = false, at = [24, 9], size = [16, 9] },
    ]
";

#[test]
fn a_cursor_moves_along_the_samples_and_tells_their_value() {
    let mut sheet = Sheet::new(CHART);
    let told = |sheet: &Sheet| -> Vec<String> {
        let items = &sheet.device.screens[0].pictures[0];
        let operations = items.iter().flat_map(|item| &item.operations);
        operations
            .filter_map(|operation| match &operation.shape {
                Shape::Text(text) => Some(text.template.text(&sheet.values).into_owned()),
                Shape::Value(value) => Some(value.number.text(&sheet.values).into_owned()),
                _ => None,
            })
            .collect()
    };
    // The present value is the field's own, 4; before it come 2, 4, 8 and 0.
    let values: Vec<Vec<String>> = (0..5).map(|back| told(sheet.set("back", f64::from(back)))).collect();
    assert_eq!(values, [["4"; 2], ["2"; 2], ["4"; 2], ["8"; 2], ["0"; 2]]);
    let column = |sheet: &mut Sheet, back: f64| -> Vec<u32> {
        let with = sheet.set("back", back).draw();
        (0..22).filter(|x| with.ink(*x, 0) && !with.ink(*x, 1) && with.ink(*x, 2)).collect()
    };
    let found: Vec<Vec<u32>> = [1.0, 2.0].map(|back| column(&mut sheet, back)).to_vec();
    assert_eq!(found, [[16], [11]]);
    // The chart keeps the history; the text asks for it too.
    let air: FieldId = sheet.device.field("air").unwrap();
    assert_eq!(sheet.device.fields[air.0].history, 5);
}

#[test]
fn a_cursor_is_a_dotted_line_and_a_ring() {
    let text = CHART.replace("past.air = [0, 8, 4, 2, 6]", "past.air = [4, 4, 4, 4, 4]");
    let picture = Sheet::new(&text).set("back", 2.0).draw();
    let part: Vec<String> = (4..15).map(|y| picture.row_text(y)[6..17].to_owned()).collect();
    let expected = [
        ".....#.....",
        "...........",
        "...........",
        "...#####...",
        "...#...#...",
        "##.#...#.##",
        "...#...#...",
        "...#####...",
        "...........",
        "...........",
        ".....#.....",
    ];
    assert_eq!(part, expected, "{picture}");
}

#[test]
fn a_cursor_that_counts_something_else_is_refused() {
    let text = CHART.replace("fields.back = { range = [0, 4] }", "fields.back = { range = [0, 9] }");
    let faults = Sheet::read(&text).err().unwrap_or_default();
    assert!(
        faults.iter().any(|fault| fault.message == "`back` does not count the samples of this chart"),
        "{faults:?}"
    );
    let text = CHART.replace("fields.back = { range = [0, 4] }", "fields.back = { range = [-4, 4] }");
    let faults = Sheet::read(&text).err().unwrap_or_default();
    assert!(faults.iter().any(|fault| fault.message == "`back` does not count samples back"), "{faults:?}");
}

#[test]
fn an_editor_shows_its_digits_and_the_one_that_the_cursor_names() {
    let mut sheet = Sheet::new(
        "size = [44, 9]
        fields.limit = { range = [-9, 99], decimals = 1, sample = -4.5 }
        fields.digit = { range = [0, 2] }
        screen.content = [ { editor = 'limit', cursor = 'digit', font = 'small', at = [0, 0], size = [44, 9] } ]",
    );
    let black = |sheet: &Sheet| -> Vec<u32> {
        let picture = sheet.draw();
        (0..44).filter(|x| picture.ink(*x, 0)).collect()
    };
    let last = black(&sheet);
    let tens = black(sheet.set("digit", 2.0));
    let ones = black(sheet.set("digit", 1.0));
    // Cells from left to right: sign, tens, ones, mark, tenths.
    assert!(!last.is_empty() && last.len() == tens.len() && tens.len() == ones.len(), "{}", sheet.draw());
    assert!(tens.last() < ones.first() && ones.last() < last.first(), "{}", sheet.draw());
    let shown = |sheet: &Sheet| -> String {
        let operations = sheet.device.screens[0].pictures[0].iter().flat_map(|item| &item.operations);
        let shown = operations.filter(|one| one.guard.holds(&sheet.values));
        let texts = shown.filter_map(|operation| match &operation.shape {
            Shape::Text(text) => Some(text.template.text(&sheet.values).into_owned()),
            _ => None,
        });
        texts.collect()
    };
    assert_eq!(shown(&sheet), "−04.5");
    assert_eq!(shown(sheet.set("limit", 12.0)), " 12.0");
}

#[test]
fn a_text_is_edited_in_cells_and_shown_without_the_spaces_at_its_end() {
    let mut sheet = Sheet::new(
        "size = [60, 24]
        fields.name = { text = { length = 5, letters = ' ABC', sample = 'AB' } }
        fields.place = { range = [0, 4] }
        screen.content = [
            { editor = 'name', cursor = 'place', font = 'small', at = [0, 0], size = [60, 9] },
            { text = '<{name}>', font = 'small', at = [0, 12], size = [60, 9] },
        ]",
    );
    let text = |sheet: &Sheet| match &sheet.device.screens[0].pictures[0][1].operations[0].shape {
        Shape::Text(text) => (text.template.text(&sheet.values).into_owned(), text.template.fields().len()),
        _ => unreachable!("it is a text"),
    };
    assert_eq!(text(&sheet), ("<AB>".to_owned(), 5));
    sheet.set("name character 4", 3.0);
    assert_eq!(text(&sheet), ("<AB C>".to_owned(), 5));
    let widest = &sheet.device.screens[0].pictures[0][1].texts()[0].text;
    assert_eq!(widest.chars().count(), 7, "{widest}");
}

#[test]
fn editors_that_cannot_be_meant_are_refused() {
    let refused = |fields: &str, editor: &str, expected: &str| {
        let text = format!("size = [60, 24]\n{fields}\nscreen.content = [ {{ editor = '{editor}', cursor = 'c' }} ]");
        let faults = Sheet::read(&text).err().unwrap_or_default();
        assert!(faults.iter().any(|fault| fault.message.contains(expected)), "{expected}: {faults:?}");
    };
    let cursor = "fields.c = { range = [0, 1] }\n";
    refused(cursor, "n", "there is no field `n`");
    refused(&format!("{cursor}fields.n = {{ range = [0, 9] }}"), "n", "`c` names more places than there are");
    refused(&format!("{cursor}fields.n = {{ choices = ['a', 'b'] }}"), "n", "`n` has no digits to edit");
    let text = |text: &str| format!("{cursor}fields.n = {{ text = {text} }}");
    refused(&text("{ length = 0, letters = 'AB', sample = '' }"), "n", "a text has 1 to 64 characters");
    refused(&text("{ length = 2, letters = 'ABA', sample = 'AB' }"), "n", "the letter `A` stands twice");
    refused(&text("{ length = 2, letters = 'AB', sample = 'AX' }"), "n", "`X` of the sample is not among the letters");
    refused(&text("{ length = 3, letters = 'AB', sample = 'AB' }"), "n", "the sample has 2 characters, the text 3");
}
