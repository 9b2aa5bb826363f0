//! Every form of a value, and what is said of one that does not fit.

use super::*;
use crate::source::amount::{At, List};
use serde::Deserialize;
use std::collections::BTreeMap;

#[derive(Deserialize, Debug, PartialEq)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct All {
    #[serde(default)]
    whole: i64,
    #[serde(default)]
    flag: bool,
    share: Option<f64>,
    #[serde(default)]
    words: Vec<String>,
    #[serde(default)]
    pair: (u8, u8),
    #[serde(default)]
    named: BTreeMap<String, u32>,
    way: Option<Way>,
}

#[derive(Deserialize, Debug, PartialEq)]
#[serde(rename_all = "kebab-case")]
enum Way {
    Alone,
    One(u32),
    Two(u32, u32),
    Named { step: u32 },
}

/// A value, or what is said and the text at fault.
fn read(text: &str) -> Result<All, (String, &str)> {
    let (table, errors) = DeTable::parse_recoverable(text);
    assert!(errors.is_empty(), "{text}");
    let tree = toml::Spanned::new(0..text.len(), DeValue::Table(table.into_inner()));
    super::read::<All>(&tree).map_err(|fault| {
        let span = fault.span().expect("a place");
        (fault.message().to_owned(), &text[span])
    })
}

fn said(text: &str, message: &str, at: &str) {
    let (found, place) = read(text).expect_err(text);
    assert_eq!((found.as_str(), place), (message, at), "{text}");
}

#[test]
fn every_kind_of_value_is_read() {
    let all = read(
        "whole = 0x1_F\nflag = true\nshare = 1e2\nwords = ['a', \"b\"]\npair = [1, 2]\nnamed = { a = 1, b = 2 }\nway = 'alone'",
    );
    let all = all.expect("sound");
    assert_eq!((all.whole, all.flag, all.share, all.pair), (31, true, Some(100.0), (1, 2)));
    assert_eq!(all.words, ["a", "b"]);
    assert_eq!(all.named.into_iter().collect::<Vec<_>>(), [("a".into(), 1), ("b".into(), 2)]);
    assert_eq!(all.way, Some(Way::Alone));
}

#[test]
fn a_word_has_what_belongs_to_it() {
    let way = |text: &str| read(&format!("way = {text}")).map_err(|(said, _)| said).expect("sound").way;
    assert_eq!(way("{ alone = {} }"), Some(Way::Alone));
    assert_eq!(way("{ alone = [] }"), Some(Way::Alone));
    assert_eq!(way("{ one = 7 }"), Some(Way::One(7)));
    assert_eq!(way("{ two = [1, 2] }"), Some(Way::Two(1, 2)));
    assert_eq!(way("{ named = { step = 3 } }"), Some(Way::Named { step: 3 }));
}

#[test]
fn what_does_not_fit_is_told_at_its_place() {
    said("whole = 'x'", "invalid type: string \"x\", expected i64", "'x'");
    said("whole = 99999999999999999999", "99999999999999999999 is not a usable number", "99999999999999999999");
    said("named = { a = 1, b = -2 }", "invalid value: integer `-2`, expected u32", "-2");
    said("words = ['a', 3]", "invalid type: integer `3`, expected a string", "3");
    said("words = { a = 1 }", "invalid type: map, expected a sequence", "{ a = 1 }");
    said("pair = [1]", "invalid length 1, expected a tuple of size 2", "[1]");
    said("named = [1]", "invalid type: sequence, expected a map", "[1]");
    said("flag = 2.5", "invalid type: floating point `2.5`, expected a boolean", "2.5");
    let known = "expected one of `whole`, `flag`, `share`, `words`, `pair`, `named`, `way`";
    said("wole = 1", &format!("unknown field `wole`, {known}"), "wole");
}

#[test]
fn a_word_that_does_not_fit_is_told_at_its_place() {
    let known = "expected one of `alone`, `one`, `two`, `named`";
    said("way = 'up'", &format!("unknown variant `up`, {known}"), "'up'");
    said("way = { up = 1 }", &format!("unknown variant `up`, {known}"), "up");
    said("way = {}", NO_KEY, "{}");
    said("way = { one = 1, two = [1, 2] }", "expected one key, found several", "{ one = 1, two = [1, 2] }");
    said("way = 3", "expected a text or a table", "3");
    said("way = 'one'", "invalid type: unit variant, expected newtype variant", "'one'");
    said("way = 'two'", "invalid type: unit variant, expected tuple variant", "'two'");
    said("way = 'named'", "invalid type: unit variant, expected struct variant", "'named'");
    said("way = { alone = { a = 1 } }", "invalid type: map, expected an empty table", "{ a = 1 }");
    said("way = { alone = [1] }", "invalid type: sequence, expected an empty table", "[1]");
    said("way = { one = 'x' }", "invalid type: string \"x\", expected u32", "'x'");
    said("way = { named = { stp = 1 } }", "unknown field `stp`, expected `step`", "stp");
    said("way = { named = 4 }", "invalid type: integer `4`, expected struct variant Way::Named", "4");
}

/// What a type finds by itself, once serde has read its parts, lies where its value stands; in a list, behind a word and at
/// the root too. Once it was told of the table around it, which was taken out as a whole.
#[test]
fn what_a_type_refuses_by_itself_has_its_place() {
    #[derive(Deserialize, Debug)]
    #[serde(rename_all = "kebab-case")]
    #[allow(dead_code)]
    enum Choice {
        Of(List<u8, 2>),
        With { size: List<u8, 2> },
    }
    fn place<T: DeserializeOwned + fmt::Debug>(text: &str) -> &str {
        let (table, _) = DeTable::parse_recoverable(text);
        let tree = toml::Spanned::new(0..text.len(), DeValue::Table(table.into_inner()));
        let fault = super::read::<T>(&tree).expect_err("refused");
        assert_eq!(fault.message(), "found a list of 3, expected a list of 2");
        &text[fault.span().expect("a place")]
    }
    assert_eq!(place::<BTreeMap<String, List<u8, 2>>>("a = [1, 2]\nb = [3, 4, 5]"), "[3, 4, 5]");
    assert_eq!(place::<BTreeMap<String, At<List<u8, 2>>>>("b = [3, 4, 5]"), "[3, 4, 5]");
    assert_eq!(place::<BTreeMap<String, Option<List<u8, 2>>>>("b = [3, 4, 5]"), "[3, 4, 5]");
    assert_eq!(place::<BTreeMap<String, Vec<List<u8, 2>>>>("b = [ [1, 2], [3, 4, 5] ]"), "[3, 4, 5]");
    assert_eq!(place::<BTreeMap<String, Choice>>("b = { of = [3, 4, 5] }"), "[3, 4, 5]");
    assert_eq!(place::<BTreeMap<String, Choice>>("b = { with = { size = [3, 4, 5] } }"), "[3, 4, 5]");
}

#[test]
fn a_value_knows_its_place() {
    let text = "a = [ 7, { b = 'x' } ]";
    let (table, _) = DeTable::parse_recoverable(text);
    let tree = toml::Spanned::new(0..text.len(), DeValue::Table(table.into_inner()));
    type Deep = BTreeMap<String, At<(At<u32>, BTreeMap<String, At<String>>)>>;
    let found = super::read::<Deep>(&tree).expect("sound");
    let (seven, inner) = &found["a"].value;
    let places = [found["a"].span.clone(), seven.span.clone(), inner["b"].span.clone()].map(|span| &text[span]);
    assert_eq!(places, ["[ 7, { b = 'x' } ]", "7", "'x'"]);
}
