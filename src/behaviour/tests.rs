//! Hours, changes of fields and what a product can do, by hand.

use super::*;

#[test]
fn hours_reach_over_midnight() {
    let night = Hours { from: Seconds(22.0 * 3600.0), length: Seconds(8.0 * 3600.0) };
    assert!(night.hold(Seconds(23.0 * 3600.0)) && night.hold(Seconds(86_400.0 + 3600.0)));
    assert!(!night.hold(Seconds(7.0 * 3600.0)));
    // The first moment belongs to them, the last does not, whatever the rounding of a time.
    let day = Hours { from: Seconds(660.0), length: Seconds(82_140.0) };
    assert!((1..400).all(|n| day.hold(Seconds((f64::from(n) * 86_400.0 + 660.0) * 1e6 * 1e-6))));
    assert!((1..400).all(|n| !day.hold(Seconds((f64::from(n) * 86_400.0 + 82_800.0) * 1e6 * 1e-6))));
}

fn values(now: &[f64]) -> Values {
    let start = jiff::civil::date(2031, 4, 12).at(0, 0, 0, 0);
    Values { start, now: now.to_vec(), past: vec![Vec::new(); now.len()].into(), version: vec![0; now.len()] }
}

#[test]
fn changes_stop_or_go_round_at_the_ends() {
    let change = |how, ends| FieldChange { field: FieldId(0), how, ends };
    let after = |change: FieldChange, now: f64| {
        change.value(&values(&[now, 1.0]), &Bounds::plain([0.0, 5.0], 1.0), 1.0).unwrap()
    };
    assert_eq!(after(change(How::By(2.0), Ends::Clamp), 4.0), 5.0);
    assert_eq!(after(change(How::By(1.0), Ends::Wrap), 5.0), 0.0);
    assert_eq!(after(change(How::By(-1.0), Ends::Wrap), 0.0), 5.0);
    assert_eq!(after(change(How::To(9.0), Ends::Wrap), 0.0), 5.0);
    // The cursor names the second digit from the right: tens of the unit 0.1.
    let digit = change(How::Digit { cursor: FieldId(1), by: 1 }, Ends::Clamp);
    assert_eq!(digit.value(&values(&[2.5, 1.0]), &Bounds::plain([0.0, 5.0], 0.1), 1.0), Some(3.5));
    // Ten steps of a tenth make one.
    let tenth = change(How::By(0.1), Ends::Clamp);
    let ten =
        (0..10).fold(0.0, |now, _| tenth.value(&values(&[now]), &Bounds::plain([0.0, 5.0], 0.1), 1.0).unwrap_or(now));
    assert_eq!(ten, 1.0);
    // What is missing stays missing until it is set.
    assert!(after(change(How::By(1.0), Ends::Wrap), f64::NAN).is_nan());
    assert_eq!(after(change(How::To(2.0), Ends::Wrap), f64::NAN), 2.0);
    assert_eq!(
        change(How::By(1.0), Ends::Clamp).value(&values(&[1.0]), &Bounds::plain([0.0, 99.0], 1.0), 10.0),
        Some(11.0)
    );
    let refused = change(How::By(9.0), Ends::Open(ScreenId(0)));
    assert_eq!(refused.value(&values(&[1.0]), &Bounds::plain([0.0, 5.0], 1.0), 1.0), None);
}
