//! One vocabulary: what the program prints and what its project files say uses the words of the trade. Texts are collected
//! by running every command, from the schema and from the string literals of the source; no word of the list is in them.

use crate::starter::{Project, demo_report, run};
use std::path::{Path, PathBuf};

/// Words that are not used, each with what is written instead. Matched as whole words, whatever their case and
/// punctuation; an underscore or a hyphen parts words, so that keys of JSON and of project files count too.
const UNUSED: &[(&str, &str)] = &[
    ("reckon reckons reckoned reckoning", "calculate, estimate"),
    ("dearest dearer cheaper cheapest", "most expensive, lower, higher, minimum-energy"),
    ("hardest pull pulls", "peak load, load current"),
    ("collapse collapses collapsed", "brown-out"),
    ("law laws", "distribution"),
    ("fading", "capacity fade"),
    ("legal", "minimum-energy schedule"),
    ("standing", "always-on"),
    ("pump pumps", "booster"),
    ("compose composes composed", "render"),
    ("band bands", "strip (page buffer)"),
    ("taper", "termination current"),
    ("float", "charge voltage"),
    ("shelf", "shelf life"),
    ("glass", "display, panel"),
    ("picture pictures", "frame, image"),
    ("face faces", "font, fonts"),
    ("capital capitals", "cap height, upper case"),
    ("steady reversed", "fixed width; inverted, white"),
    ("tone tones", "dithering, grey"),
    ("walk walks grade grades graded", "random walk, thresholds"),
    ("smear smears undated", "ghosting risk, no timestamp"),
    ("least", "min, minimum"),
    ("renew renews renewed renewal renewals", "update"),
    ("verb verbs", "command"),
    ("yardstick", "reference"),
    ("anew", "again"),
    ("rubbish", "garbage"),
    ("holes", "gaps"),
];

/// The same for turns of phrase, one a row.
const PHRASES: &[&str] = &[
    "in short",
    "kept back",
    "keep back",
    "half reach",
    "nine of ten",
    "one of ten",
    "ended by",
    "drawn at random",
    "cannot be told",
    "could not be told",
    "not told",
    "visible after",
    "press to visible",
    "half within",
    "95 within",
    "too cold",
    "too warm",
    "partials as allowed",
    "asks for it",
    "nothing was on",
    "updates refused",
    "without meaning",
    "lost presses",
    "presses lost",
    "mcu asleep",
    "panel asleep",
    "memory waiting",
    "regulator display",
    "while busy",
    "ink is",
    "ways from",
    "predicted beside",
    "true millimetres",
    "true size",
    "start from blank",
    "at rest",
    "widest values",
    "life for 1",
    "short waveform",
    "told apart",
    "told so",
    "told as such",
    "tells whether",
    "till then",
    "since when",
    "take it out",
    "take the row out",
    "shared out",
    "looked at",
    "minutes of arc",
    "ways back",
    "off most",
    "held against",
    "pays for",
    "usual day",
    "eye sees",
    "given up",
    "lights on",
    "true pace",
    "somebody looking",
    "current tells",
];

/// Where such a word is meant as anybody would: taken out before the search, each with its reason.
const MEANT: &[(&str, &str)] = &[
    ("at least", "plain English for a lower limit in a sentence"),
    ("least significant", "the name of a bit"),
    ("shelf life", "the term itself"),
    ("random walk", "the term itself"),
    ("format float", "JSON Schema's name of a kind of number"),
    ("use composed characters", "Unicode's name of a normal form"),
];

/// Literals that nobody reads, by file and text, each with its reason.
const UNREAD: &[(&str, &str, &str)] = &[
    ("src/report/page.rs", "walk.js", "a file of the source"),
    ("src/report/page.rs", "walk", "an anchor in the report"),
    ("src/report/walk.rs", "walk", "an anchor in the report"),
    ("src/usage/content.rs", "Walk {{ step: {step:?} }}", "seeds random draws, never shown"),
    ("src/report/walk.rs", "h-walk", "an anchor in the report"),
    ("src/firmware/names.rs", "float", "a keyword of C that is no name there"),
];

/// The text in lower case with one space between words; what stands in braces is a value and left out.
fn words(text: &str) -> String {
    let mut out = String::from(" ");
    let mut depth = 0;
    for character in text.replace("\\n", " ").chars() {
        match character {
            '{' => depth += 1,
            '}' if depth > 0 => depth -= 1,
            letter if depth == 0 && letter.is_alphanumeric() => out.extend(letter.to_lowercase()),
            _ if !out.ends_with(' ') => out.push(' '),
            _ => {}
        }
    }
    out + " "
}

/// What is not used and yet in a text that is already in [`words`].
fn found(text: &str) -> Vec<String> {
    let mut text = text.to_owned();
    for (meant, _) in MEANT {
        while text.contains(&format!(" {meant} ")) {
            text = text.replace(&format!(" {meant} "), " ");
        }
    }
    let holds = |word: &str| text.contains(&format!(" {word} "));
    let words = UNUSED.iter().flat_map(|(words, instead)| words.split(' ').map(move |word| (word, *instead)));
    let words = words.filter(|(word, _)| holds(word)).map(|(word, instead)| format!("{word} (write: {instead})"));
    words.chain(PHRASES.iter().filter(|phrase| holds(phrase)).map(|phrase| (*phrase).to_owned())).collect()
}

/// A count of one before a plural.
fn one_of_many(text: &str) -> Option<String> {
    const THINGS: &[&str] = &[
        "locales",
        "warnings",
        "errors",
        "screens",
        "updates",
        "windows",
        "devices",
        "limits",
        "findings",
        "fonts",
        "files",
        "inputs",
        "keys",
        "projects",
        "refreshes",
        "charges",
        "images",
        "boxes",
        "states",
    ];
    THINGS.iter().map(|thing| format!(" 1 {thing} ")).find(|wrong| text.contains(wrong))
}

fn faults_of(name: &str, text: &str) -> Vec<String> {
    text.lines()
        .flat_map(|line| {
            let words = words(line);
            let wrong = found(&words).into_iter().chain(one_of_many(&words));
            wrong.map(|word| format!("{name}: {word}: {}", line.trim())).collect::<Vec<_>>()
        })
        .collect()
}

fn assert_none(faults: &[String]) {
    assert!(faults.is_empty(), "{} words that are not used:\n{}", faults.len(), faults.join("\n"));
}

fn printed(arguments: &[&str]) -> Vec<String> {
    let shown = run(arguments);
    let text = format!("{}\n{}", shown.stdout, shown.stderr);
    assert!(text.trim().len() > 10, "{arguments:?} prints nothing");
    // JSON stands in braces: parted, so that keys and texts are read.
    faults_of(&arguments.join(" "), &text.replace(['{', '}'], " "))
}

const COMMANDS: &[&str] = &[
    "new",
    "check",
    "render",
    "preview",
    "budget",
    "sweep",
    "profiles",
    "compare",
    "report",
    "fonts",
    "trace",
    "export",
    "bringup",
    "verify",
    "schema",
    "completions",
    "guide",
    "man",
];

#[test]
fn help_and_schema_use_the_words_of_the_trade() {
    let all = run(&["help"]).stdout;
    let listed = all.lines().filter_map(|line| line.strip_prefix("  ")?.split_whitespace().next());
    let listed: Vec<&str> = listed.filter(|name| name.chars().all(char::is_alphabetic) && *name != "help").collect();
    assert_eq!(listed, COMMANDS, "every command is asked for its help");
    let mut faults = printed(&["help"]);
    for command in COMMANDS {
        faults.extend(printed(&[command, "--help"]));
    }
    for page in inkjoule::guide::PAGES {
        faults.extend(printed(&["guide", page.name]));
    }
    for file in ["device", "screen", "part", "strings"] {
        faults.extend(printed(&["schema", file]));
    }
    assert_none(&faults);
}

#[test]
fn pages_beside_the_program_use_them_too() {
    let faults = [
        "README.md",
        "DEVELOPERS.md",
        "fonts/README.md",
        "tests/benches/figures.md",
        "screens-demo/elements.md",
        "screens-demo/device.toml",
        "screens-demo/screens/tonight.toml",
    ]
    .iter()
    .flat_map(|name| {
        let text = std::fs::read_to_string(name).expect("a page of the repository");
        // Names of files are no words.
        let files = |word: &&str| !word.contains(".py") && !word.contains(".md)") && !word.contains(".png)");
        let lines = text.lines().map(|line| line.split(' ').filter(files).collect::<Vec<_>>().join(" ") + "\n");
        faults_of(name, &lines.collect::<String>())
    });
    assert_none(&faults.collect::<Vec<_>>());
}

#[test]
fn outputs_use_the_words_of_the_trade() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = |name: &str| folder.path().join(name).to_str().expect("a plain path").to_owned();
    let demo = "screens-demo";
    let mut faults = Vec::new();
    for arguments in [
        &["budget", demo, "--all"][..],
        &["budget", demo, "--format", "json"],
        &["budget", demo, "--explain", "tonight"],
        &["budget", demo, "--explain", "tonight:posts"],
        &["budget", demo, "--explain", "nothing"],
        &["check", demo],
        &["check", demo, "--lints"],
        &["check", "tests/faulty"],
        &["check", "tests/faulty", "--format", "json"],
        &["compare", demo, "--panel", "mono-296x128-full"],
        &["compare", demo, "--battery", "coin-24mm", "--format", "json"],
        &["sweep", demo, "policy.max-partials", "2..6", "--steps", "2"],
        &["sweep", demo, "policy.max-partials", "2..6", "--steps", "2", "--format", "json"],
        &["profiles"],
        &["profiles", "mono-296x128-full"],
        &["profiles", "lithium-ion-pouch"],
        &["fonts", demo],
        &["fonts", demo, "--format", "json"],
        &["bringup", demo, "--out", &path("bringup")],
        &["export", demo, "--to", "c-live", "--out", &path("live")],
        &["export", demo, "--explain", "--out", &path("packing")],
        &["render", demo, "--sheet", "--out", &path("images")],
        &["preview", demo, "--terminal", "--typed", "2h"],
        &["man", "budget"],
    ] {
        faults.extend(printed(arguments));
    }
    let topics = inkjoule::budget::figure::Topic::ALL.iter().map(|topic| topic.name());
    for what in topics.chain(["life-days", "update-energy-j"]) {
        faults.extend(printed(&["budget", demo, "--explain", what]));
    }
    for trace in std::fs::read_dir("screens-demo/traces").expect("the demo's traces") {
        let trace = trace.expect("an entry").path();
        faults.extend(printed(&["trace", trace.to_str().expect("a plain path"), "--against", demo]));
    }
    let starter = Project::new();
    faults.extend(printed(&["check", starter.path()]));
    faults.extend(printed(&["compare", starter.path(), starter.path()]));
    assert_none(&faults);
}

#[test]
fn the_report_uses_the_words_of_the_trade() {
    let mut text = String::new();
    let mut rest = demo_report();
    while let Some((before, after)) = rest.split_once('<') {
        text += before;
        text.push('\n');
        // Style and program are not read by anybody who reads the report; titles and alternative texts are.
        let end = ["style", "script"].iter().find(|name| after.starts_with(*name)).map(|name| format!("</{name}>"));
        let (tag, after) = match end {
            Some(end) => ("", after.split_once(end.as_str()).expect("it ends").1),
            None => after.split_once('>').expect("a tag ends"),
        };
        for name in [" alt=\"", " aria-label=\"", " title=\""] {
            text += tag.split_once(name).and_then(|(_, value)| value.split('"').next()).unwrap_or_default();
            text.push('\n');
        }
        rest = after;
    }
    assert!(text.contains("battery life") || text.contains("Battery life"), "the report's text was found");
    assert_none(&faults_of("report", &text));
}

fn skip(rest: &mut std::iter::Peekable<std::str::CharIndices<'_>>, to: usize) {
    while rest.next_if(|(at, _)| *at < to).is_some() {}
}

/// The string literals of a file of the source, without those of its tests, escapes as they stand there.
fn literals(source: &str) -> Vec<String> {
    let source = source.split("#[cfg(test)]\nmod tests {").next().unwrap_or(source);
    let mut found = Vec::new();
    let mut rest = source.char_indices().peekable();
    let mut before = ' ';
    while let Some((at, character)) = rest.next() {
        let here = &source[at..];
        if here.starts_with("//") {
            skip(&mut rest, at + here.find('\n').unwrap_or(here.len()));
        } else if character == 'r'
            && !before.is_alphanumeric()
            && before != '_'
            && here[1..].trim_start_matches('#').starts_with('"')
        {
            let hashes = here[1..].chars().take_while(|hash| *hash == '#').count();
            let end = format!("\"{}", "#".repeat(hashes));
            let begin = at + 2 + hashes;
            let length = source[begin..].find(&end).expect("it ends");
            found.push(source[begin..begin + length].to_owned());
            skip(&mut rest, begin + length + end.len());
        } else if character == '"' {
            let mut escaped = false;
            let inside = |(_, next): &(usize, char)| {
                let ends = *next == '"' && !escaped;
                escaped = *next == '\\' && !escaped;
                !ends
            };
            let length: usize = here[1..].char_indices().take_while(inside).map(|(_, next)| next.len_utf8()).sum();
            found.push(source[at + 1..at + 1 + length].replace("\\\n", " "));
            skip(&mut rest, at + 2 + length);
        } else if character == '\'' {
            // A character, not a lifetime.
            if let Some(end) =
                here[1..].strip_prefix('\\').map_or(here[1..].char_indices().nth(1).map(|(at, _)| at + 1), |more| {
                    more[1..].find('\'').map(|at| at + 3)
                })
                && here[end..].starts_with('\'')
            {
                skip(&mut rest, at + end + 1);
            }
        }
        before = character;
    }
    found
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder of the source") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn messages_use_the_words_of_the_trade() {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    files.sort();
    let (mut faults, mut count) = (Vec::new(), 0);
    for file in &files {
        let name = file.to_str().expect("a plain path");
        for literal in literals(&std::fs::read_to_string(file).expect("a file of the source")) {
            count += 1;
            // Paths of files of the source are not printed.
            let unread =
                literal.starts_with("../") || UNREAD.iter().any(|(at, text, _)| name == *at && literal == *text);
            if !unread {
                faults.extend(found(&words(&literal)).into_iter().map(|word| format!("{name}: {word}: {literal}")));
            }
        }
    }
    assert!(count > 4000, "the literals were found, {count} of them");
    assert_none(&faults);
}

#[test]
fn an_unused_word_is_found_whatever_stands_around_it() {
    for text in [
        "the GLASS.",
        "most_partials_of_the_glass",
        "a band, drawn",
        "`tone-map`",
        "95 % within",
        "Too cold or",
        "not told",
    ] {
        assert!(!found(&words(text)).is_empty(), "{text}");
    }
    for text in ["at least 3", "shelf life", "glasses", "{face}", "the least significant bit", "interface"] {
        assert_eq!(found(&words(text)), Vec::<String>::new(), "{text}");
    }
    assert_eq!(one_of_many(&words("it has 1 warnings, 11 errors")), Some(" 1 warnings ".to_owned()));
    assert_eq!(one_of_many(&words("it has 1 warning, 11 errors")), None);
    let source =
        "let a = \"one\\\"two\"; let b = r#\"a \"b\"\"#; let c = '\"'; // \"no\"\nfn x<'a>() -> &'a str { \"three\" }";
    assert_eq!(literals(source), ["one\\\"two", "a \"b\"", "three"]);
}
