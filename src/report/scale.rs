//! A measured line with marks on it, drawn so that its lettering keeps its size at any width.

use super::figure::typeset;
use maud::{Markup, html};

/// A mark on a scale.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Where, in the scale's own unit.
    pub at: f64,
    /// What stands beside it.
    pub label: String,
    /// How it is drawn.
    pub kind: MarkKind,
}

/// How a mark is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// The value that matters: label above, heavy.
    Main,
    /// The low end of the spread: label below, to the left.
    Low,
    /// The high end of the spread: label below, to the right.
    High,
    /// A limit: dashed, label above.
    Limit,
}

/// A scale from one value to another; the low and high marks, where there are any, hold a band between them.
#[derive(Clone, Debug)]
pub struct Scale {
    /// Value at the left end.
    pub from: f64,
    /// Value at the right end.
    pub to: f64,
    /// Texts at the two ends.
    pub ends: [String; 2],
    /// Marks.
    pub marks: Vec<Mark>,
    /// The whole in words, for those who cannot see it.
    pub words: String,
}

impl Scale {
    fn percent(&self, at: f64) -> f64 {
        let width = self.to - self.from;
        if width > 0.0 { ((at - self.from) / width * 100.0).clamp(0.0, 100.0) } else { 0.0 }
    }

    /// The drawing.
    pub fn markup(&self) -> Markup {
        let place = |kind: MarkKind| self.marks.iter().find(|mark| mark.kind == kind).map(|mark| self.percent(mark.at));
        let band = place(MarkKind::Low).zip(place(MarkKind::High));
        let percent = |at: f64| format!("{at:.2}%");
        html! {
            svg.scale width="100%" height="92" role="img" aria-label=(self.words) {
                line.axis x1="0" x2="100%" y1="46" y2="46" {}
                line.end x1="0.5" x2="0.5" y1="42" y2="50" {}
                line.end x1="100%" x2="100%" y1="42" y2="50" {}
                text.faint x="0" y="86" { (typeset(&self.ends[0])) }
                text.faint x="100%" y="86" text-anchor="end" { (typeset(&self.ends[1])) }
                @if let Some((low, high)) = band {
                    rect.band x=(percent(low)) y="40" width=(percent((high - low).max(0.0))) height="12" {}
                }
                @for mark in &self.marks {
                    (self.mark(mark))
                }
            }
        }
    }

    fn mark(&self, mark: &Mark) -> Markup {
        let at = self.percent(mark.at);
        let x = format!("{at:.2}%");
        let middle = if at < 14.0 {
            "start"
        } else if at > 86.0 {
            "end"
        } else {
            "middle"
        };
        let (class, top, bottom, label, anchor) = match mark.kind {
            MarkKind::Main => ("main", 28, 56, 20, middle),
            MarkKind::Limit => ("limit", 28, 64, 20, middle),
            MarkKind::Low => ("edge", 38, 54, 70, "end"),
            MarkKind::High => ("edge", 38, 54, 70, "start"),
        };
        html! {
            line class=(class) x1=(x) x2=(x) y1=(top) y2=(bottom) {}
            text class=(class) x=(x) y=(label) text-anchor=(anchor) { (typeset(&mark.label)) }
        }
    }
}
