//! Two devices of the second product in one program: what one does is nothing to the other, and every call does what its
//! documentation says. Ends with an error at the first that does not.

use screens_live::*;

/// A device may go to another thread.
fn goes<T: Send>(it: T) -> T {
    it
}

fn at(milliseconds: u64) -> Time {
    Time::from_millis(milliseconds)
}

/// Sends all that is due, refreshes and is ready again at once: how many lines, and a sum over their bytes.
fn shown(device: &mut Device<'_>, now: Time) -> (usize, u64) {
    let (mut count, mut sum) = (0, 0u64);
    for _ in 0..1000 {
        match device.next(now, 200) {
            Task::Send(lines) => {
                assert!(lines.rows().len() > 0 && lines.rows().all(|row| row.len() == usize::from(lines.row_bytes())));
                assert_eq!(lines.whole().is_some(), usize::from(lines.row_bytes()) == STRIDE);
                count += lines.rows().len();
                for byte in lines.rows().flatten() {
                    sum = sum.wrapping_mul(31).wrapping_add(u64::from(*byte));
                }
            }
            Task::Refresh(refresh) => {
                assert!(refresh.window.width <= WIDTH.max(HEIGHT));
                device.busy(Some(now));
            }
            Task::Sleep { .. } | Task::Blocked => return (count, sum),
        }
    }
    panic!("there is always something to do");
}

/// Keys and values by a simple rule; what is shown after each.
fn step(device: &mut Device<'_>, round: u64) -> (usize, u64, Screen, Option<i32>) {
    let now = at(36_000_000 + 700 * round);
    let key = Key::ALL[round as usize * 5 % Key::ALL.len()];
    device.key_down(now, key);
    device.key_up(now, key);
    device.measured(Field::Level, (round * 37 % 9000) as i32);
    if round % 4 == 0 {
        assert_eq!(device.event(now, Event::Report), Ok(()));
    }
    let (count, sum) = shown(device, now);
    (count, sum, device.front(), device.value(Field::Level))
}

fn begun(store: &mut Store) -> Device<'_> {
    let mut setup = Setup::new(store).expect("sound tables");
    setup.preset(Field::Link, 1);
    setup.preset(Field::Charge, 75);
    setup.preset(Field::Running, 1);
    setup.begin(at(36_000_000))
}

static ONE: std::sync::Mutex<Store> = std::sync::Mutex::new(Store::new());

fn main() {
    assert!(tables_are_sound());

    // Alone, and beside another one that is elsewhere in its script: the same.
    let mut store = ONE.lock().expect("free");
    let mut device = begun(&mut store);
    let alone: Vec<_> = (0..200).map(|round| step(&mut device, round)).collect();
    let mut other_store = Store::new();
    let mut one = begun(&mut store);
    let mut other = goes(begun(&mut other_store));
    let beside: Vec<_> = (0..200)
        .map(|round| {
            step(&mut other, 3 * round + 1);
            // Where a device stands is nothing to it.
            let mut moved = Box::new(std::mem::replace(&mut one, begun(Box::leak(Box::new(Store::new())))));
            let told = step(&mut moved, round);
            one = *moved;
            told
        })
        .collect();
    assert_eq!(alone, beside);
    assert!(alone.iter().map(|(count, ..)| count).sum::<usize>() > 1000);
    let mut fronts: Vec<Screen> = alone.iter().map(|(_, _, front, _)| *front).collect();
    fronts.dedup();
    assert!(fronts.len() > 5, "{fronts:?}");

    // Values come back as they were told, as far as a field has room for them; what is not known is not.
    let mut setup = Setup::new(&mut other_store).expect("sound tables");
    setup.preset(Field::Level, 1234);
    setup.preset(Field::Salt, None);
    for field in Field::ALL {
        for number in [i32::MIN, -1, 0, 1, i32::MAX] {
            setup.preset(field, number);
            setup.past_add(field, number);
        }
        assert!(field.range().is_none_or(|(low, high)| low <= high) && field.decimals() < 9);
    }
    setup.preset(Field::Level, 1234);
    setup.preset(Field::Salt, None);
    setup.preset(Field::Link, 1);
    setup.preset(Field::Charge, Field::Charge.range().map(|(_, high)| high));
    setup.preset(Field::Language, 1);
    setup.preset(Field::Usb, 0);
    let mut device = setup.begin(at(1000));
    assert_eq!((device.value(Field::Level), device.value(Field::Salt)), (Some(1234), None));
    assert_eq!((device.screen(), device.boxes().count(), device.front()), (Screen::HOME, 0, Screen::HOME));

    // While lines are sent, what happens outside must wait; keys are dropped, as the policy says.
    let Task::Send(lines) = device.next(at(1000), 200) else { panic!("the home screen is to be sent") };
    assert_eq!((lines.mode, lines.first_line, lines.window.x), (Mode::Full(Reason::First), 0, 0));
    assert!(device.is_sending());
    assert_eq!(device.event(at(1000), Event::Dry), Err(Refused::Sending));
    assert_eq!(device.arrived(at(1000), Field::Charge, 10), Err(Refused::Sending));
    assert_eq!(device.key_down(at(1000), Key::K2), Answer::Dropped);
    while let Task::Send(_) = device.next(at(1000), 200) {}
    assert!(!device.is_sending());
    assert_eq!(device.locale(), Locale::ALL[1]);
    assert!(matches!(device.next(at(1000), 200), Task::Sleep { .. }), "the panel refreshes");
    device.busy(Some(at(3000)));
    let wake = device.wake();
    assert!(wake >= Some(at(1000)));
    assert_eq!(device.next(at(1500), 200), Task::Sleep { until: wake });

    // Then it is taken; what leads to a box opens it. A clock that goes back stands still.
    assert_eq!(device.arrived(at(4000), Field::Usb, 1), Ok(()));
    assert_eq!((device.value(Field::Usb), device.front()), (Some(1), Screen::Usb));
    assert_eq!((device.screen(), device.boxes().collect::<Vec<_>>()), (Screen::HOME, vec![Screen::Usb]));
    assert_eq!(device.event(at(3999), Event::Seldom), Err(Refused::Condition));
    device.run(at(0));
    device.busy(Some(at(0)));
    assert!(shown(&mut device, at(0)).0 > 0 && device.wake() > Some(at(4000)));

    // No waveform serves such a cold.
    assert_eq!(device.arrived(at(9000), Field::Usb, 0), Ok(()));
    assert_eq!(device.arrived(at(9000), Field::Charge, 3), Ok(()));
    assert_eq!((device.front(), device.next(at(9000), i16::MIN)), (Screen::BATTERY_EMPTY, Task::Blocked));

    // Times may be anything.
    for time in [u64::MAX, u64::MAX - 1, 1 << 63, 0] {
        device.run(at(time));
        device.busy(Some(at(time)));
        let _ = device.next(at(time), i16::MAX);
        let _ = (device.wanted(at(time), Field::Cable), device.wake());
        device.busy(None);
    }
    println!("done");
}
