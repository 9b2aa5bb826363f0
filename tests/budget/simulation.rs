//! The simulation of use, against hand counts, closed forms and the stationary law of a memoryless flow.

use crate::plain::{self, BASE, close, device, try_device};
use inkjoule::budget::life::mean_load;
use inkjoule::budget::usage;
use inkjoule::project::load;
use inkjoule::refresh::policy::Reason;
use inkjoule::simulate::counts::Counts;
use inkjoule::simulate::simulate;
use inkjoule::simulate::stationary::{Memory, law};
use inkjoule::units::{DAY, Seconds};
use std::path::Path;

const DAY_AT_20: &str = "temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\n";

fn use_of(usage: &str) -> String {
    format!("[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n{DAY_AT_20}{usage}")
}

fn run(more: &str, screens: &[(&str, &str)]) -> Counts {
    let device = device(more, screens);
    simulate(&device, &device.inputs.typical())
}

fn because(counts: &Counts, reason: Reason) -> u64 {
    Reason::ALL.iter().zip(counts.reasons).find(|(one, _)| **one == reason).map_or(0, |(_, count)| count)
}

/// Three screens that lead on at random: by events all day and by single presses.
fn memoryless(seed: u32) -> String {
    format!(
        "[policy]\nmax-partials = 1000\nfull-on = [\"c\"]\n[events.on]\nper-day = 30\n[events.off]\nper-day = 12\n{}days = 366\n\
         seed = {seed}\n[usage.journeys.one]\nper-day = 7\nanywhere = true\nsteps = [ {{ press = 1, look = \"0 s\" }} ]\n\
         [usage.journeys.two]\nper-day = 19\nanywhere = true\nsteps = [ {{ press = 2, look = \"0 s\" }} ]\n",
        use_of("")
    )
}

const MEMORYLESS: [(&str, &str); 3] = [
    ("a", "keys.1.go = \"b\"\nkeys.2.go = \"c\"\non.on.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
    ("b", "keys.1.go = \"c\"\nkeys.2.go = \"b\"\non.off.go = \"a\"\ncontent = [ { text = \"BB\" } ]"),
    ("c", "keys.1.go = \"a\"\nkeys.2.go = \"a\"\ncontent = [ { text = \"CCC\" } ]"),
];

/// Twenty-four hours after midnight is once in each day, also on the last.
#[test]
fn an_event_once_a_day_happens_once_a_day() {
    let text = "[events.call]\nevery = \"24 h\"\ncharge = \"1 C\"\n[usage]\nhome = \"a\"\nstart = \"2031-01-01\"\n\
                temperature = { low = \"20 °C\", high = \"20 °C\", warmest = \"12:00\" }\ndays = DAYS\n";
    for days in [1, 7, 30] {
        let device = device(&text.replace("DAYS", &days.to_string()), &[("a", "content = [ { text = \"A\" } ]")]);
        let counts = simulate(&device, &device.inputs.typical());
        assert_eq!(counts.per_day(counts.events[0]), 1.0, "over {days} days");
    }
}

#[test]
fn a_memoryless_flow_agrees_with_its_stationary_law_within_the_standard_error() {
    // From a: to b at 7 + 30, to c at 19 a day; from b: to c at 7, to a at 12; from c: to a at 26.
    // Balance: a (56) = 12 b + 26 c, b (19) = 37 a, c (26) = 19 a + 7 b.
    let by_hand = {
        let (a, b) = (1.0, 37.0 / 19.0);
        let c = (19.0 * a + 7.0 * b) / 26.0;
        let sum = a + b + c;
        [a / sum, b / sum, c / sum]
    };
    let devices: Vec<_> = (1..=8).map(|seed| device(&memoryless(seed), &MEMORYLESS)).collect();
    let law = law(&devices[0]).expect("nothing in this flow has a memory");
    let tallies: Vec<Counts> = devices.iter().map(|device| simulate(device, &device.inputs.typical())).collect();
    for (screen, share_by_hand) in by_hand.into_iter().enumerate() {
        close(law.share[screen].0, share_by_hand, 1e-12);
        let within_error = |found: Vec<f64>, expected: f64| {
            let count = found.len() as f64;
            let mean = found.iter().sum::<f64>() / count;
            let variance = found.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / (count - 1.0);
            let error = (variance / count).sqrt();
            assert!((mean - expected).abs() < 4.0 * error, "screen {screen}: {mean} for {expected}, error {error}");
            assert!(error < 0.01 * expected, "the error itself is small: {error} of {expected}");
        };
        let share = |counts: &Counts| counts.shown[screen] / (DAY * counts.days);
        within_error(tallies.iter().map(share).collect(), law.share[screen].0);
        let entries = |counts: &Counts| counts.per_day(counts.entries[screen]);
        // Key 2 on b leads from b to b: an entry, but no move.
        let again = if screen == 1 { 19.0 * law.share[1].0 } else { 0.0 };
        within_error(tallies.iter().map(entries).collect(), law.entries_per_day[screen] + again);
    }
    // Each entry of c, which is drawn in full, is a full refresh; the rest are partial.
    let counts = &tallies[0];
    let expected = law.entries_per_day[2];
    close(counts.per_day(because(counts, Reason::Screen)), expected, 0.03);
}

#[test]
fn what_has_a_memory_has_no_law() {
    let with = |usage: &str, a: &str| {
        law(&device(
            &format!("[events.on]\nper-day = 3\n[events.dawn]\nevery = \"6 h\"\n{}", use_of(usage)),
            &[("a", a), ("b", "keys.1.go = \"a\"\ncontent = [ { text = \"B\" } ]")],
        ))
    };
    let content = "content = [ { text = \"A\" } ]";
    assert!(with("", &format!("on.on.go = \"b\"\n{content}")).is_ok());
    let timer = with("", &format!("after = [ {{ wait = \"5 s\", go = \"b\" }} ]\n{content}"));
    assert!(matches!(timer, Err(Memory::Timer(_))));
    assert!(matches!(with("", &format!("on.dawn.go = \"b\"\n{content}")), Err(Memory::Event(_))));
    let journey =
        "[usage.journeys.two]\nper-day = 1\nsteps = [ { press = 1, look = \"3 s\" }, { press = 1, look = \"3 s\" } ]";
    assert!(matches!(with(journey, &format!("keys.1.go = \"b\"\n{content}")), Err(Memory::Journey(0))));
    let hours = "[usage.journeys.one]\nper-day = 1\nbetween = [\"08:00\", \"20:00\"]\nsteps = [ { press = 1, look = \"3 s\" } ]";
    assert!(matches!(with(hours, &format!("keys.1.go = \"b\"\n{content}")), Err(Memory::Journey(0))));
}

/// One field that counts every ten minutes.
const COUNTING: &str = "[fields.n]\nrange = [0, 999]\nevery = \"10 min\"\nsignal = { count = { step = 1 } }\n";
const SHOWN: [(&str, &str); 1] = [("a", "content = [ { value = \"n\", left = 16, top = 16 } ]")];

#[test]
fn every_full_refresh_has_its_reason() {
    // 143 updates in a day after the first picture. At most 11 partials in a row: every twelfth update is full.
    let policy = "[policy]\nmax-partials = 11\nfull-every = \"300 d\"\n";
    let counts = run(&format!("{COUNTING}{policy}{}days = 1\n", use_of("")), &SHOWN);
    assert_eq!((counts.full + counts.partial, because(&counts, Reason::FirstPicture)), (144, 1));
    assert_eq!(because(&counts, Reason::Count), 11);
    assert_eq!(counts.reasons.iter().sum::<u64>(), counts.full);
    // Every three hours the last full is too old; at night it is too cold for the short waveform.
    let policy = "[policy]\nmax-partials = 100\nfull-every = \"3 h\"\n";
    let counts = run(&format!("{COUNTING}{policy}{}days = 1\n", use_of("")), &SHOWN);
    assert_eq!(because(&counts, Reason::Age), 7);
    let cold = use_of("").replace("low = \"20 °C\"", "low = \"-20 °C\"");
    let counts = run(&format!("{COUNTING}[policy]\nmax-partials = 200\n{cold}days = 1\n"), &SHOWN);
    // A cosine between -20 and 20 °C is below 0 °C from 18:00 to 06:00: 36 updates from 00:00 to 05:50, the first picture
    // being one of them, and 35 from 18:10 to 23:50.
    assert_eq!(because(&counts, Reason::TooCold) + because(&counts, Reason::FirstPicture), 36 + 35);
}

#[test]
fn a_year_of_temperatures_decides_which_months_are_full() {
    // January to March and October to December are cold throughout, April to September warm.
    let months: Vec<&str> = (0..12)
        .map(|month| if (3..9).contains(&month) { "[\"20 °C\", \"25 °C\"]" } else { "[\"-20 °C\", \"-15 °C\"]" })
        .collect();
    let usage = use_of("").replace("low = \"20 °C\", high = \"20 °C\"", &format!("months = [{}]", months.join(", ")));
    let field = COUNTING.replace("10 min", "6 h");
    let counts = run(&format!("{field}[policy]\nmax-partials = 2000\nfull-every = \"900 d\"\n{usage}"), &SHOWN);
    assert_eq!(counts.days, 365.0, "a whole year unless told otherwise");
    // Between middles of months the temperature moves evenly. The day's mean of -17.5 °C comes to 0 °C after 17.5 / 40 of
    // a change-over and leaves it as late before the end of the other: five months and two times 0.4375 months are cold.
    let cold = because(&counts, Reason::TooCold) as f64 / (counts.full + counts.partial) as f64;
    assert!((cold - 5.875 / 12.0).abs() < 0.01, "{cold}");
}

#[test]
fn each_region_counts_its_partial_refreshes_and_its_longest_run() {
    let policy = "[policy]\nmax-partials = 11\nfull-every = \"300 d\"\n";
    let counts = run(&format!("{COUNTING}{policy}{}days = 1\n", use_of("")), &SHOWN);
    let (_, region) = counts.activity.most(|region| region.partial).unwrap();
    // The last digit changes nearly everywhere each time.
    assert!(
        region.partial <= counts.partial && region.partial > counts.partial * 8 / 10,
        "{region:?} of {}",
        counts.partial
    );
    assert_eq!(
        (region.full, counts.activity.most(|region| u64::from(region.longest)).unwrap().1.longest),
        (counts.full, 11)
    );
    assert_eq!(counts.activity.at(15, 7).partial, 0, "nothing changes in the far corner");
    let windows: u64 = counts.activity.regions().map(|(_, region)| region.partial).sum();
    assert!(windows >= counts.windows, "a window touches at least one region");
}

#[test]
fn presses_are_told_apart_by_key_with_their_latencies() {
    // Key 1 leads on and is answered by a partial refresh; key 2 half a second later meets the busy panel and waits.
    let usage = use_of(
        "days = 10\n[usage.journeys.pair]\nper-day = 20\nsteps = [ { press = 1, look = \"0.1 s\" }, { press = 2, look = \"60 s\" } ]\n",
    );
    let screens = [
        ("a", "keys.1.go = \"b\"\ncontent = [ { text = \"A\" } ]"),
        ("b", "keys.2.go = \"a\"\ncontent = [ { text = \"B\" } ]"),
    ];
    let queued = run(&format!("[policy]\nmax-partials = 1000\n{usage}"), &screens);
    let [one, two] = [queued.keys[0], queued.keys[1]];
    assert!(
        one.made > 150 && one.made == two.made && one.lost + two.lost + one.idle + two.idle == 0,
        "{one:?} {two:?}"
    );
    let median = |key| queued.latency_of(key, 0.5).unwrap().0;
    // wake 1 ms, compose and transfer depend on the window; start 10, pump up 40, drive 500 ms; then pump down 20 ms.
    assert!(median(0) > 0.551 && median(0) < 0.6, "{}", median(0));
    // It waits until the first is done, but for the 0.1 s it came later, then takes as long.
    close(median(1), 2.0 * median(0) + 0.020 - 0.1, 0.02);
    let dropped = run(&format!("[policy]\nmax-partials = 1000\nbusy-presses = \"drop\"\n{usage}"), &screens);
    assert_eq!(dropped.keys[1].lost + dropped.keys[0].lost, dropped.lost_presses);
    // Key 2 is lost each time, so that the next pair begins with a press of key 2 that leads back to its screen.
    let [one, two] = [dropped.keys[0], dropped.keys[1]];
    assert!(two.lost == one.made && one.idle == 0 && two.made + 1 == 2 * one.made, "{one:?} {two:?}");
}

/// Presses as a Poisson stream of rate `l` are served in batches of all that wait, each in the same time `d`. A service is
/// followed by another if any press came in it, with probability `1 - exp(-l d)`; so services come in runs of mean length
/// `exp(l d)` that idle times of mean `1/l` part, and the panel is busy for the share `b = d exp(l d) / (d exp(l d) + 1/l)`
/// (renewal-reward theorem; Ross, Introduction to Probability Models, ch. 7; from memory). A Poisson stream sees that
/// share (Wolff, Operations Research 30 (1982) 223-231), and a press that meets a busy panel waits `d / 2` in the mean.
#[test]
fn presses_wait_as_renewal_theory_says() {
    const PER_DAY: f64 = 86_400.0;
    // Streams add up; one of them may have at most 10,000 a day.
    let stream = |number: usize| {
        format!(
            "[usage.journeys.s{number}]\nper-day = {}\nsteps = [ {{ press = 1, look = \"0 s\" }} ]\n",
            PER_DAY / 9.0
        )
    };
    let usage = use_of(&format!("days = 3\n{}", (0..9).map(stream).collect::<String>()));
    let field = "[fields.n]\nrange = [0, 999_999]\n";
    let screen =
        [("a", "keys.1.change = { field = \"n\", by = 1 }\ncontent = [ { value = \"n\", left = 16, top = 16 } ]")];
    let counts = run(&format!("{field}[policy]\nmax-partials = 1_000_000\nfull-every = \"300 d\"\n{usage}"), &screen);
    let rate = PER_DAY / DAY.0;
    // From the press to the picture where the panel is free; busy a pump down of 20 ms longer.
    let visible = counts.latency(0.0).unwrap().0;
    let busy = visible + 0.020;
    let run_of_services = busy * (rate * busy).exp();
    let share = run_of_services / (run_of_services + 1.0 / rate);
    assert!(share > 0.35 && share < 0.6, "a share that tells: {share}");
    let waited: Vec<f64> = counts.answers.iter().map(|answer| answer.latency.0 - visible).collect();
    let mean = waited.iter().sum::<f64>() / waited.len() as f64;
    // Widths of the number differ by a byte or two now and then, and with them the time of its transfer.
    close(mean, share * busy / 2.0, 0.02);
    let waiting = waited.iter().filter(|time| **time > 0.003).count() as f64 / waited.len() as f64;
    close(waiting, share, 0.02);
    // Each service is one refresh: of the time it takes, the panel is busy for that share.
    close((counts.full + counts.partial) as f64 * busy / (DAY.0 * counts.days), share, 0.02);
}

#[test]
fn a_charge_every_other_day_holds_what_was_taken() {
    // 20 mA always, 100 mAh: 48 h would need 960 mAh; 1 mA needs 48 mAh between charges.
    let charger = "[board.loads.lamp]\ncurrent = \"1 mA\"\n[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n";
    let charging = "[usage.charging]\nevery = \"2 d\"\nat = \"12:00\"\nfor = \"6 h\"\n";
    let of = |charger: &str, charging: &str| {
        let counts =
            run(&format!("{charger}{}days = 20\n{charging}", use_of("")), &[("a", "content = [ { text = \"A\" } ]")]);
        counts.charges.expect("there is a charger")
    };
    let charges = of(charger, charging);
    assert_eq!((charges.count, charges.refused, charges.empty), (10, 0, None));
    // Most between charges: 42 h of lamp, microcontroller and panel asleep: 1.003 mA.
    let taken = 42.0 * 1.003 / (charges.whole.0 / 3.6);
    close(1.0 - charges.lowest.0, taken, 0.02);
    // Nine stretches of 42 h of use, 12 h before the first charge, 30 h after the last.
    close(charges.given.0 / 3.6, 10.0 * 42.0 * 1.003, 0.02);
    let empty = of(&charger.replace("\"1 mA\"", "\"4 mA\""), charging).empty.expect("25 h are too short");
    assert!(empty > Seconds(12.0 * 3600.0) && empty < DAY * 2.5, "{empty}");
}

/// A lamp under a condition that always holds once was no load of the charged battery: 86 % for 72 %, and a hundredth of
/// the cycles. Presses and samples that wake the microcontroller were none either.
#[test]
fn the_charged_battery_gives_all_that_the_budget_counts() {
    let board = "[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n";
    let charging = "[usage.charging]\nevery = \"30 d\"\nat = \"00:00\"\nfor = \"1 min\"\n";
    let of = |more: &str| {
        let project = format!(
            "{board}{more}[fields.n]\nrange = [0, 9]\nevery = \"60 s\"\nsignal = {{ count = {{ step = 1 }} }}\n\
             [events.call]\nper-day = 50\ncharge = \"40 mC\"\n\
             {}days = 2\n{charging}[usage.journeys.j]\nper-day = 500\nsteps = [ {{ press = 1, look = \"1 s\" }} ]\n",
            use_of("")
        );
        let screen =
            "content = [ { text = \"A\" } ]\n[keys]\n1 = { change = { field = \"m\", by = 1, wrap = true } }\n";
        let work = "cycles-per-pixel = 10\nsample-time = \"200 ms\"\nkey-time = \"300 ms\"";
        let base = BASE.replace("cycles-per-pixel = 10", work);
        let device =
            plain::load(format!("{base}{project}[fields.m]\nrange = [0, 9]\n"), &[("a", screen)]).expect("it loads");
        let parameters = device.inputs.typical();
        let counts = simulate(&device, &parameters);
        let charges = counts.charges.expect("a charger");
        let mean = mean_load(&device, &parameters, &counts, 1.0, device.battery.nominal());
        let given = mean.at(device.battery.nominal()).0 * (DAY.0 * counts.days - 60.0);
        // Self-discharge comes on top.
        assert!(charges.given.0 > given && charges.given.0 < 1.03 * given, "{} for {given}", charges.given);
        charges
    };
    let [always, bound] =
        ["", "while = { screen = \"a\" }\n"].map(|only| of(&format!("[board.loads.lamp]\ncurrent = \"1 mA\"\n{only}")));
    close(bound.given.0, always.given.0, 1e-6);
    close(bound.lowest.0, always.lowest.0, 1e-6);
    // 100 mAh at more than 1 mA do not last for 30 days.
    assert!(bound.empty.is_some_and(|empty| empty < DAY * 5.0), "{:?}", bound.empty);
}

/// Cycles are those of the use, whenever the charger comes: a week at its end, in the middle or not at all in the days
/// that are simulated.
#[test]
fn cycles_do_not_depend_on_the_days_simulated() {
    let of = |every: u32, days: u32| {
        let project = format!(
            "[board.loads.lamp]\ncurrent = \"0.2 mA\"\n[board.charger]\ncurrent = \"50 mA\"\ntermination-current = \"5 mA\"\ntemperature = \"20 °C\"\n\
             {}days = {days}\n[usage.charging]\nevery = \"{every} d\"\nat = \"12:00\"\nfor = \"4 h\"\n",
            use_of("")
        );
        let counts = run(&project, &[("a", "content = [ { text = \"A\" } ]")]);
        counts.charges.expect("a charger").cycles() / counts.days
    };
    let all = [of(7, 84), of(7, 7), of(14, 7), of(7, 28)];
    // 0.203 mA over 24 h of 100 mAh; self-discharge comes on top.
    close(all[0], 0.203 * 24.0 / 100.0, 0.08);
    all.iter().for_each(|cycles| close(*cycles, all[0], 0.03));
}

#[test]
fn the_counts_are_in_the_json_with_the_law() {
    let device = device(&memoryless(3), &MEMORYLESS);
    let counts = simulate(&device, &device.inputs.typical());
    let json = serde_json::Value::Object(usage::json(&device, &counts));
    assert!(json["full_because"]["full_on_entry"].as_f64().unwrap() > 7.0);
    assert!(json["screens"][2]["stationary_fraction"].as_f64().unwrap() > 0.25);
    assert!(json["keys"][1]["latency_s"]["p95"].as_f64().unwrap() > 0.5);
    assert!(json["regions"]["max_partials_between_full"].as_u64().unwrap() >= 1);
    assert!(json["stationary_unknown"].is_null() && json["charges"].is_null());
    let budget = inkjoule::budget::summary::budget(&device);
    let whole = inkjoule::budget::json::json(&device, &budget);
    assert!(whole["use"]["rated_refreshes_last_days"].as_f64().unwrap() > 3600.0, "{whole:#}");
    let text = usage::text(&device, &budget);
    // Lines are broken where they would be too long.
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in ["full because", "in the long run", "The panel's rated 1,000,000 refreshes last", "p95"] {
        assert!(text.contains(part), "{part} in\n{text}");
    }
}

#[test]
fn temperatures_and_charges_that_cannot_be_are_refused_with_a_remedy() {
    let screen = [("a", "content = [ { text = \"A\" } ]")];
    let said = |temperature: &str, more: &str| {
        let usage = use_of(more).replace(
            "temperature = { low = \"20 °C\", high = \"20 °C\", warmest",
            &format!("temperature = {{ {temperature}, warmest"),
        );
        try_device(&usage, &screen).expect_err("it must be refused")
    };
    let eleven = ["[\"1 °C\", \"2 °C\"]"; 11].join(", ");
    assert!(said(&format!("months = [{eleven}]"), "").contains("expected twelve months, found 11"));
    assert!(said("low = \"1 °C\"", "").contains("write either `low` and `high`, or `months`"));
    let twelve = format!("{eleven}, [\"-30 °C\", \"2 °C\"]");
    assert!(said(&format!("months = [{twelve}]"), "").contains("the panel cannot be refreshed at this temperature"));
    let warm = "low = \"20 °C\", high = \"20 °C\"";
    let charging = |every: &str, length: &str| {
        format!("[usage.charging]\nevery = \"{every}\"\nat = \"12:00\"\nfor = \"{length}\"\n")
    };
    assert!(said(warm, &charging("2 d", "1 h")).contains("the board has no charger"));
    assert!(said(warm, &charging("30 h", "1 h")).contains("expected whole days"));
    assert!(said(warm, &charging("1 d", "25 h")).contains("end before the next"));
}

/// What the demo's people do and what the world does is drawn at random, from numbers that belong to the project's content:
/// a change of the code that moves these draws changes every project's figures. Once a type that got another name did.
#[test]
fn the_demos_week_is_drawn_as_it_was() {
    let loaded = load(Path::new("screens-demo"), &[]).unwrap_or_else(|_| panic!("the demo loads"));
    let counts = simulate(&loaded.device, &loaded.device.inputs.typical());
    assert_eq!((counts.full, counts.partial, counts.journeys.iter().map(|one| one.made).sum::<u64>()), (355, 509, 113));
}
