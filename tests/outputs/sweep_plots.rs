//! Plots of sweeps: the SVG is well-formed XML (read by roxmltree) and the PNG is a picture (read by image).

use crate::starter::{Project, run};
use inkjoule::plot::palette::{Colour, Theme};

fn plot(project: &Project, name: &str, more: &[&str]) -> Vec<u8> {
    let file = project.folder().join(name);
    let file = file.to_str().unwrap();
    let arguments = ["sweep", project.path(), "board.mcu.sleep", "1uA..9uA", "--steps", "4", "--plot", file];
    let shown = run(&[&arguments[..], more].concat());
    assert_eq!(shown.status, 0, "{}", shown.stderr);
    std::fs::read(file).expect("the plot was written")
}

/// Every text of an SVG.
fn texts(svg: &[u8]) -> Vec<String> {
    let document = roxmltree::Document::parse(std::str::from_utf8(svg).unwrap()).expect("well-formed XML");
    assert_eq!(document.root_element().tag_name().name(), "svg");
    let texts = document.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")));
    texts.filter_map(|node| node.text()).map(str::to_owned).collect()
}

fn assert_text(texts: &[String], part: &str) {
    assert!(texts.iter().any(|text| text.contains(part)), "{part:?} is not among {texts:?}");
}

#[test]
fn an_svg_has_units_limit_and_design_point() {
    let project = Project::new();
    project.edit("device.toml", "name = \"My instrument\"", "name = \"Scale <1 & up\"");
    let svg = plot(&project, "life.svg", &["--limit", "500 d"]);
    let texts = texts(&svg);
    for part in [
        "Scale <1 & up",
        "board.mcu.sleep (µA)",
        "Battery life, median (P50) (years)",
        "P10",
        "as designed: 1.5 µA",
        "limit: min 1.37 years",
    ] {
        assert_text(&texts, part);
    }
    // The band, the limit's dashes and the marked point are there as shapes.
    let svg = String::from_utf8(svg).unwrap();
    assert!(svg.contains("fill-opacity=\"0.16\"") && svg.contains("stroke-dasharray") && svg.contains("<circle"));
}

#[test]
fn the_projects_own_limit_is_drawn() {
    let project = Project::new();
    let path = project.folder().join("device.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text + "\n[limits]\nlatency = \"5 s\"\n").unwrap();
    let texts = texts(&plot(&project, "latency.svg", &["--figure", "latency-s"]));
    assert_text(&texts, "limit: max 5.00 s");
    assert_text(&texts, "Slowest transition (s)");
}

#[test]
fn a_family_of_curves_is_labelled_directly() {
    let project = Project::new();
    let texts = texts(&plot(&project, "family.svg", &["--and", "battery.capacity", "400mAh,600mAh,900mAh"]));
    for part in ["capacity 400 mAh", "capacity 600 mAh", "capacity 900 mAh"] {
        assert_text(&texts, part);
    }
}

#[test]
fn a_png_is_a_picture_with_letters_curve_and_limit() {
    let project = Project::new();
    let png = plot(&project, "life.png", &["--limit", "500 d"]);
    let picture = image::load_from_memory(&png).expect("the PNG decodes").to_rgb8();
    assert_eq!(picture.dimensions(), (1520, 940));
    let count = |colour: [u8; 3]| picture.pixels().filter(|pixel| pixel.0 == colour).count();
    let [ink, curve, alert] =
        [Colour::Ink, Colour::Curve(255), Colour::Alert].map(|role| count(role.rgb(Theme::Light)));
    assert!(ink > 500, "letters of titles: {ink} pixels");
    assert!(curve > 2_000, "the curve: {curve} pixels");
    assert!(alert > 1_000, "the limit: {alert} pixels");
}

#[test]
fn a_failed_sweep_writes_no_plot() {
    let project = Project::new();
    let file = project.folder().join("never.svg");
    let shown =
        run(&["sweep", project.path(), "battery.charge-voltage", "4.0V..4.4V", "--plot", file.to_str().unwrap()]);
    assert_eq!(shown.status, 2);
    assert!(!file.exists());
}
