//! The report as a page: alone in one file, safe against its project, in order for screen readers, the same every time.

use crate::starter::{Project, changed_report, demo_report, report, run};
use base64::prelude::{BASE64_STANDARD, Engine};
use inkjoule::evaluation::Evaluation;
use inkjoule::frame::files::png;
use inkjoule::machine::State;
use inkjoule::machine::canvas::drawn;
use inkjoule::machine::explore::{By, fire};
use inkjoule::report::walk;
use inkjoule::source::files::Files;
use std::path::Path;

/// The values of an attribute.
fn attributes<'h>(html: &'h str, name: &str) -> Vec<&'h str> {
    let start = format!(" {name}=\"");
    html.split(start.as_str()).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn nothing_is_fetched_and_links_lead_inside() {
    let html = demo_report();
    assert!(html.len() < 2_000_000, "{} bytes", html.len());
    assert!(!html.contains("http://") && !html.contains("https://") && !html.contains("url("));
    assert!(attributes(html, "src").iter().all(|source| source.starts_with("data:image/png;base64,")));
    let ids = attributes(html, "id");
    for link in attributes(html, "href").into_iter().filter(|link| !link.starts_with("data:")) {
        let target = link.strip_prefix('#').expect("a link inside the page");
        assert!(ids.contains(&target), "{link} leads nowhere");
    }
    let mut unique = ids.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), ids.len(), "every id once");
    for reference in attributes(html, "aria-labelledby") {
        assert!(ids.contains(&reference), "{reference} labels nothing");
    }
}

#[test]
fn pictures_have_words_and_headings_go_down_one_by_one() {
    let html = demo_report();
    for tag in html.split("<img ").skip(1).filter_map(|rest| rest.split('>').next()) {
        let tag = format!(" {tag}");
        let words = attributes(&tag, "alt");
        assert!(
            words.first().is_some_and(|words| !words.is_empty()),
            "an <img> without alt: {}",
            &tag[tag.len().saturating_sub(90)..]
        );
    }
    let levels: Vec<u32> =
        html.match_indices("<h").filter_map(|(at, _)| html[at + 2..].chars().next()?.to_digit(10)).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    for landmark in ["<main>", "<nav aria-label=", "<header", "<footer>", "<html lang=\"en\">"] {
        assert!(html.contains(landmark), "{landmark}");
    }
}

#[test]
fn a_projects_words_stay_words() {
    let project = Project::new();
    let name = r#"name=</title><script>alert(1)</script><img src=x onerror="alert(2)">&"#;
    let html = report(project.path(), &["--set", name]);
    assert!(!html.contains("<script>alert") && !html.contains("<img src=x"));
    assert_eq!(html.matches("<script").count(), 1, "only the page's own");
    assert!(html.contains("&lt;script&gt;alert(1)"));
}

#[test]
fn the_same_project_gives_the_same_bytes() {
    assert!(demo_report() == report("screens-demo", &[]));
}

#[test]
fn findings_are_listed_with_place_and_remedy() {
    let project = Project::new();
    let html = report(project.path(), &["--set", "limits.life=9 year", "--set", "board.mcu.ram=8 B"]);
    for words in ["limit-life", "battery life P10 is only", "choose another policy.buffer", "device.toml:"] {
        assert!(html.contains(words), "{words}");
    }
}

#[test]
fn a_comparison_stands_in_the_report() {
    let html = changed_report();
    assert!(html.contains("id=\"against\"") && html.contains(", worse</span>"));
    assert!(html.contains("pixel for pixel"), "no image differs");
    assert!(!demo_report().contains("id=\"against\""));
}

#[test]
fn wrong_names_are_refused_and_leave_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("r.html");
    let out = path.to_str().expect("a plain path");
    let starter = folder.path().join("starter");
    let starter = starter.to_str().expect("a plain path");
    assert_eq!(run(&["new", starter]).status, 0);
    for (arguments, words) in [
        (["report", "screens-demo", "--locale", "ed", "--out", out], "known here: en, de, pl"),
        (
            ["report", starter, "--locale", "en", "--out", out],
            "leave --locale out: the project has no folder `strings`, so its texts are the same everywhere",
        ),
        (
            ["render", starter, "--locale", "en", "--out", out],
            "leave --locale out: the project has no folder `strings`, so its texts are the same everywhere",
        ),
        (["report", "screens-demo", "--against", "nowhere", "--out", out], "no such project folder: nowhere"),
    ] {
        let shown = run(&arguments);
        assert_eq!(shown.status, 2);
        assert!(shown.stderr.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{}", shown.stderr);
        assert!(!path.exists());
    }
}

/// The part of the page that shows one state to click through.
fn instrument<'h>(html: &'h str, id: &str) -> &'h str {
    let start = html.find(&format!("id=\"{id}\"")).unwrap_or_else(|| panic!("there is no {id}"));
    let end = html[start..].find("</figure>").expect("it is closed");
    &html[start..start + end]
}

/// Where a key leads; `None` where it does nothing or the page ends, which it says.
fn key_link(figure: &str, key: usize) -> Option<&str> {
    let link = figure.split("<a ").find(|link| link.contains(&format!("data-key=\"{key}\"")))?;
    link.split("href=\"#").nth(1)?.split('"').next()
}

/// Beyond twelve states of a screen a key once led back to the first one, in silence.
#[test]
fn keys_of_the_report_lead_where_those_of_the_device_do() {
    let files = Files::read(Path::new("tests/product")).expect("the product's files");
    let side = Evaluation::of("product", files).unwrap_or_else(|_| panic!("the product loads"));
    let page = walk::section(&side, 0).into_string();
    let device = &side.device;
    let (mut followed, mut ends) = (0, 0);
    let walks = [
        vec![1, 5, 5, 5, 5, 5, 5, 3],
        vec![3, 4, 4, 4, 4, 4, 4, 4, 4],
        vec![2, 3, 3, 4, 4, 3, 2, 1, 1],
        vec![4, 4, 1, 1, 1],
    ];
    for keys in walks {
        let mut state = State::sample(device, device.usage.home).expect("the home screen");
        let mut id = format!("w{}", device.usage.home.0);
        for key in keys {
            let figure = instrument(&page, &id);
            let fired = fire(device, &state, By::Press(key - 1)).map(|(after, _)| after);
            let Some(to) = key_link(figure, key) else {
                if figure.contains(&format!("data-beyond=\"{key}\"")) {
                    ends += 1;
                    break;
                }
                let stays = fired.is_none_or(|after| drawn(device, &after, 0) == drawn(device, &state, 0));
                assert!(stays, "key {key} of {id} does nothing in the report");
                continue;
            };
            state = fired.unwrap_or_else(|| panic!("key {key} of {id} does nothing on the device"));
            id = to.to_owned();
            let image = BASE64_STANDARD.encode(png(&drawn(device, &state, 0), 1).expect("a picture"));
            assert!(instrument(&page, &id).contains(&image), "key {key} leads to {id}, which shows something else");
            followed += 1;
        }
    }
    assert!(followed >= 8 && ends <= 4, "{followed} keys followed, {ends} times to the page's end");
}
