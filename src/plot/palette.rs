//! Every colour of the program, in one place: report, plots, maps, window. A colour is a role; a theme gives it its
//! value. Not for the panel's own two colours in files of frames: those are black and white.

use std::fmt::Write as _;

/// Red, green, blue.
pub type Rgb = [u8; 3];

/// What a picture is looked at on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// A light page.
    #[default]
    Light,
    /// A dark page.
    Dark,
    /// Paper.
    Print,
}

impl Theme {
    /// Every theme.
    pub const ALL: [Self; 3] = [Self::Light, Self::Dark, Self::Print];
}

/// What a colour is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// The sheet.
    Paper,
    /// What lies on the sheet: fields, keys.
    Raised,
    /// Behind a group of things.
    Shade,
    /// Behind a 1-bit picture, whatever the page looks like.
    White,
    /// Titles, labels, the marked point.
    Ink,
    /// Numbers on the axes and notes.
    Grey,
    /// Axis lines, rims.
    Axis,
    /// Lines behind the curves.
    Grid,
    /// A limit, the main figure, a link.
    Alert,
    /// A span around the main figure.
    Spread,
    /// Over a 1-bit picture: how much there is of something.
    Heat,
    /// Among several curves, from 0 (pale) to 255 (dark); one alone is dark.
    Curve(u8),
    /// One of several kinds of things that stand side by side: arrows, phases. Neighbours differ in hue and lightness.
    Kind(usize),
}

/// How many kinds have a colour of their own.
pub const KINDS: usize = 7;

/// Palest and darkest curve of each theme.
const CURVES: [[Rgb; 2]; 3] = [
    [[0x86, 0xb4, 0xbd], [0x14, 0x4b, 0x5e]],
    [[0x4a, 0x74, 0x84], [0x9f, 0xd3, 0xe3]],
    [[0x86, 0xb4, 0xbd], [0x14, 0x4b, 0x5e]],
];

/// The kinds on light pages and on paper, and on dark ones.
const KIND: [[Rgb; 2]; KINDS] = [
    [[0x1f, 0x5f, 0x8b], [0x7f, 0xb6, 0xdd]],
    [[0xb0, 0x5a, 0x1c], [0xe3, 0x9a, 0x66]],
    [[0x2f, 0x7a, 0x4f], [0x7e, 0xc7, 0x9b]],
    [[0x8a, 0x3f, 0x7c], [0xd2, 0x90, 0xc6]],
    [[0x6b, 0x6f, 0x1e], [0xc3, 0xc7, 0x6e]],
    [[0x4a, 0x52, 0x9e], [0xa0, 0xa8, 0xee]],
    [[0x5d, 0x5f, 0x62], [0xa9, 0xa7, 0xa1]],
];

impl Colour {
    /// Roles that have one value in each theme, with their names in style sheets.
    pub const PLAIN: [(Self, &'static str); 11] = [
        (Self::Paper, "paper"),
        (Self::Raised, "raised"),
        (Self::Shade, "shade"),
        (Self::White, "white"),
        (Self::Ink, "ink"),
        (Self::Grey, "grey"),
        (Self::Axis, "axis"),
        (Self::Grid, "grid"),
        (Self::Alert, "alert"),
        (Self::Spread, "spread"),
        (Self::Heat, "heat"),
    ];

    /// The colour of a curve among several, pale to dark.
    pub fn curve(index: usize, count: usize) -> Self {
        Self::Curve(if count < 2 { 255 } else { (255 * index.min(count - 1) / (count - 1)) as u8 })
    }

    /// Its value.
    pub const fn rgb(self, theme: Theme) -> Rgb {
        let place = theme as usize;
        match self {
            Self::Paper => [[0xfb, 0xfa, 0xf7], [0x16, 0x17, 0x1a], [0xff, 0xff, 0xff]][place],
            Self::Raised => [[0xff, 0xff, 0xff], [0x1e, 0x20, 0x23], [0xff, 0xff, 0xff]][place],
            Self::Shade => [[0xf1, 0xef, 0xe9], [0x21, 0x23, 0x27], [0xff, 0xff, 0xff]][place],
            Self::White => [0xff, 0xff, 0xff],
            Self::Ink => [[0x1b, 0x1c, 0x1e], [0xe9, 0xe7, 0xe2], [0x11, 0x11, 0x11]][place],
            Self::Grey => [[0x5d, 0x5f, 0x62], [0xa9, 0xa7, 0xa1], [0x55, 0x55, 0x55]][place],
            Self::Axis => [[0x8d, 0x8b, 0x85], [0x80, 0x7e, 0x79], [0x8d, 0x8b, 0x85]][place],
            Self::Grid => [[0xd8, 0xd5, 0xcd], [0x3a, 0x3b, 0x3f], [0xcc, 0xcc, 0xcc]][place],
            Self::Alert => [[0x97, 0x38, 0x0f], [0xf2, 0xa1, 0x77], [0x8a, 0x35, 0x10]][place],
            Self::Spread => [[0xe9, 0xd3, 0xc6], [0x54, 0x38, 0x2a], [0xee, 0xdc, 0xcf]][place],
            Self::Heat => [0xe0, 0x8a, 0x00],
            Self::Curve(share) => {
                let [pale, dark] = CURVES[place];
                [part(pale[0], dark[0], share), part(pale[1], dark[1], share), part(pale[2], dark[2], share)]
            }
            Self::Kind(kind) => KIND[kind % KINDS][if matches!(theme, Theme::Dark) { 1 } else { 0 }],
        }
    }

    /// Its name in style sheets.
    pub fn name(self) -> String {
        match self {
            Self::Curve(share) => format!("curve{}", (u16::from(share) * (CURVE_STEPS - 1) + 127) / 255),
            Self::Kind(kind) => format!("kind{}", kind % KINDS),
            plain => Self::PLAIN.iter().find(|(role, _)| *role == plain).map_or("ink", |(_, name)| name).to_owned(),
        }
    }
}

/// Curves that a style sheet tells apart.
const CURVE_STEPS: u16 = 9;

const fn part(from: u8, to: u8, share: u8) -> u8 {
    let (from, to, share) = (from as i32, to as i32, share as i32);
    (from + ((to - from) * share + if to > from { 127 } else { -127 }) / 255) as u8
}

/// A colour as style sheets and SVG write it.
pub fn hex([red, green, blue]: Rgb) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// A colour as 0x00RRGGBB.
pub const fn packed([red, green, blue]: Rgb) -> u32 {
    u32::from_be_bytes([0, red, green, blue])
}

/// All roles with a name of their own.
fn named() -> Vec<Colour> {
    let plain = Colour::PLAIN.iter().map(|(role, _)| *role);
    let curves = (0..usize::from(CURVE_STEPS)).map(|step| Colour::curve(step, usize::from(CURVE_STEPS)));
    plain.chain(curves).chain((0..KINDS).map(Colour::Kind)).collect()
}

/// The style sheet of all themes: a custom property for each role, and a class each for fill and stroke in plots.
pub fn css() -> String {
    let all = named();
    let values = |theme: Theme| {
        let one = |role: &Colour| format!("--{}:{};", role.name(), hex(role.rgb(theme)));
        all.iter().map(one).collect::<String>()
    };
    let [light, dark, print] = Theme::ALL.map(values);
    let mut style = format!(
        ":root{{{light}}}\n@media (prefers-color-scheme: dark){{:root{{{dark}}}}}\n@media print{{:root{{{print}}}}}\n"
    );
    for role in all {
        let name = role.name();
        // Writing to a string cannot fail.
        let _ = writeln!(style, ".plot .fill-{name}{{fill:var(--{name})}}.plot .stroke-{name}{{stroke:var(--{name})}}");
    }
    style
}

/// Colours of the preview: the device on a desk in daylight. Paper and ink are near those of e-paper.
pub mod device {
    use super::Rgb;

    /// Behind the device.
    pub const DESK: Rgb = [0xE0, 0xDD, 0xD6];
    /// The device's body.
    pub const BODY: Rgb = [0x3A, 0x3D, 0x41];
    /// The edge of the body, lit from above.
    pub const BODY_EDGE: Rgb = [0x4A, 0x4E, 0x53];
    /// A key at rest.
    pub const KEY: Rgb = [0x53, 0x57, 0x5D];
    /// A key that is held.
    pub const KEY_HELD: Rgb = [0x2A, 0x2C, 0x2F];
    /// A key that does nothing on this screen.
    pub const KEY_IDLE: Rgb = [0x43, 0x46, 0x4A];
    /// The number on a key.
    pub const KEY_TEXT: Rgb = [0xE9, 0xE6, 0xDF];
    /// The number on a key that does nothing.
    pub const KEY_TEXT_IDLE: Rgb = [0xB4, 0xB7, 0xBA];
    /// The rim of the display around its active area.
    pub const RIM: Rgb = [0xCF, 0xCC, 0xC1];
    /// Paper.
    pub const PAPER: Rgb = [0xE8, 0xE5, 0xDB];
    /// Ink.
    pub const INK: Rgb = [0x25, 0x25, 0x2A];
    /// A pixel on its way.
    pub const SETTLING: Rgb = [0x8B, 0x8A, 0x85];
}

/// Contrast of two colours, from 1 to 21 (WCAG 2.2, definitions of contrast ratio and relative luminance).
pub fn contrast(one: Rgb, other: Rgb) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn luminance(colour: Rgb) -> f64 {
    let [red, green, blue] = colour.map(|part| {
        let share = f64::from(part) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrast_is_that_of_the_standard() {
        // Values from WCAG 2.2: black on white is 21 to 1; #767676 is the lightest grey with 4.5 to 1 on white.
        assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
        assert!((contrast([0x76; 3], [255; 3]) - 4.54).abs() < 0.01);
        assert!(contrast([0x77; 3], [255; 3]) < 4.5);
    }

    #[test]
    fn what_is_read_stands_out_and_so_does_what_is_drawn() {
        for theme in Theme::ALL {
            let on = |role: Colour, under: Colour| contrast(role.rgb(theme), under.rgb(theme));
            for under in [Colour::Paper, Colour::Raised, Colour::Shade] {
                for text in [Colour::Ink, Colour::Grey, Colour::Alert, Colour::Curve(255)] {
                    assert!(on(text, under) >= 4.5, "{text:?} on {under:?}, {theme:?}: {}", on(text, under));
                }
            }
            for kind in (0..KINDS).map(Colour::Kind) {
                assert!(on(kind, Colour::Paper) >= 4.5, "{kind:?}, {theme:?}: {}", on(kind, Colour::Paper));
            }
            // WCAG 2.2, 1.4.11: graphics that carry meaning, 3 to 1.
            assert!(on(Colour::Axis, Colour::Paper) >= 3.0, "{theme:?}: {}", on(Colour::Axis, Colour::Paper));
        }
    }

    #[test]
    fn every_role_has_a_name_and_a_rule() {
        let style = css();
        for role in named() {
            let name = role.name();
            assert_eq!(style.matches(&format!("--{name}:#")).count(), Theme::ALL.len(), "{name}");
            assert!(style.contains(&format!(".fill-{name}{{")) && style.contains(&format!(".stroke-{name}{{")));
        }
    }

    #[test]
    fn a_curve_alone_is_dark() {
        assert_eq!(Colour::curve(0, 1).rgb(Theme::Light), CURVES[0][1]);
        assert_eq!(Colour::curve(0, 3).rgb(Theme::Light), CURVES[0][0]);
        assert_eq!(Colour::curve(2, 3).rgb(Theme::Light), CURVES[0][1]);
    }
}
