//! The report as a page: alone in one file, safe against its project, in order for screen readers, the same every time.

use crate::starter::{Project, run};

fn report(project: &str, extra: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("report.html");
    let arguments = [&["report", project, "--out", path.to_str().expect("a plain path")], extra].concat();
    let shown = run(&arguments);
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    std::fs::read_to_string(path).expect("the report is there")
}

/// The values of an attribute.
fn attributes<'h>(html: &'h str, name: &str) -> Vec<&'h str> {
    let start = format!(" {name}=\"");
    html.split(start.as_str()).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn nothing_is_fetched_and_links_lead_inside() {
    let html = report("screens-demo", &[]);
    assert!(html.len() < 2_000_000, "{} bytes", html.len());
    assert!(!html.contains("http://") && !html.contains("https://") && !html.contains("url("));
    assert!(attributes(&html, "src").iter().all(|source| source.starts_with("data:image/png;base64,")));
    let ids = attributes(&html, "id");
    for link in attributes(&html, "href").into_iter().filter(|link| !link.starts_with("data:")) {
        let target = link.strip_prefix('#').expect("a link inside the page");
        assert!(ids.contains(&target), "{link} leads nowhere");
    }
    let mut unique = ids.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), ids.len(), "every id once");
    for reference in attributes(&html, "aria-labelledby") {
        assert!(ids.contains(&reference), "{reference} labels nothing");
    }
}

#[test]
fn pictures_have_words_and_headings_go_down_one_by_one() {
    let html = report("screens-demo", &[]);
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
    assert!(report("screens-demo", &[]) == report("screens-demo", &[]));
}

#[test]
fn findings_are_listed_with_place_and_remedy() {
    let html = report("screens-demo", &["--set", "limits.life=9 year", "--set", "board.mcu.ram=8 B"]);
    for words in ["limit-life", "battery life P10 is only", "choose another policy.buffer", "device.toml:"] {
        assert!(html.contains(words), "{words}");
    }
}

#[test]
fn a_comparison_stands_in_the_report() {
    let html = report("screens-demo", &["--set", "panel.sleep=40 uA", "--against", "screens-demo"]);
    assert!(html.contains("id=\"against\"") && html.contains(", worse</span>"));
    assert!(html.contains("pixel for pixel"), "no image differs");
    assert!(!report("screens-demo", &[]).contains("id=\"against\""));
}

#[test]
fn wrong_names_are_refused_and_leave_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("r.html");
    let out = path.to_str().expect("a plain path");
    for (arguments, words) in [
        (["report", "screens-demo", "--locale", "ed", "--out", out], "known here: en, de, pl"),
        (["report", "screens-demo", "--against", "nowhere", "--out", out], "there is no nowhere"),
    ] {
        let shown = run(&arguments);
        assert_eq!(shown.status, 2);
        assert!(shown.stderr.contains(words), "{}", shown.stderr);
        assert!(!path.exists());
    }
}
