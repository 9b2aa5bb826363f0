//! Every limit on the size of a project and of what is made from it, in one place.

use crate::units::Seconds;

/// Files in a project.
pub const FILES: usize = 5_000;
/// Bytes of one file.
pub const FILE_BYTES: u64 = 16 << 20;
/// Bytes of all files together.
pub const PROJECT_BYTES: u64 = 64 << 20;
/// Characters of one quantity.
pub const QUANTITY: usize = 64;
/// Folders inside folders.
pub const FOLDER_DEPTH: usize = 4;
/// Pixels along one side of a panel.
pub const PANEL_SIDE: u32 = 4_096;
/// Pixels of an icon or image file.
pub const IMAGE_PIXELS: u64 = 16_000_000;
/// Pixels along one side of an icon or image file.
pub const IMAGE_SIDE: u32 = 16_384;
/// Screens, each with its file.
pub const SCREENS: usize = 1_000;
/// Locales, each with its file.
pub const LOCALES: usize = 100;
/// Images of screens: screens times locales.
pub const PICTURES: usize = 10_000;
/// Live values.
pub const FIELDS: usize = 2_000;
/// Events.
pub const EVENTS: usize = 500;
/// Journeys.
pub const JOURNEYS: usize = 500;
/// Glyphs of one bitmap font.
pub const GLYPHS: usize = 65_536;
/// Elements on one screen, parts counted with their content.
pub const ELEMENTS: usize = 20_000;
/// Bytes of one text.
pub const TEXT_BYTES: usize = 4_096;
/// Steps of one profile of a load or an event.
pub const PROFILE_STEPS: usize = 64;
/// Loads and events that exclude one another.
pub const EXCLUSIVE: usize = 10;
/// Rails.
pub const RAILS: usize = 32;
/// Soft keys.
pub const KEYS: usize = 16;
/// Days of one simulation.
pub const DAYS: u32 = 366;
/// Refreshes of one simulation.
pub const UPDATES: u64 = 2_000_000;
/// Steps of one journey, repetitions counted.
pub const STEPS: usize = 1_000;
/// States of charge at which a device may change what it does; the fullest count.
pub const REGIMES: usize = 8;
/// Lines of a script or of a log of keys.
pub const SCRIPT_LINES: usize = 100_000;
/// Ways through one journey that are tried for lints.
pub const JOURNEY_WAYS: usize = 64;
/// Pixels that one run draws into files: screens times locales times scale squared.
pub const DRAWN_PIXELS: u64 = 1 << 31;
/// Values of one input of a sweep.
pub const SWEEP_VALUES: usize = 1_000;
/// Combinations of a sweep.
pub const SWEEP_ROWS: usize = 10_000;
/// Updates found in a trace.
pub const TRACE_UPDATES: usize = 100_000;
/// Bytes of a frame read back from a device.
pub const DUMP_BYTES: usize = 16 << 20;
/// Scale of an image written to a file.
pub const SCALE: u32 = 16;
/// Characters of a text that keys change.
pub const TEXT_FIELD: usize = 64;
/// Letters that such a text can have.
pub const LETTERS: usize = 256;
/// Screens that a way back remembers.
pub const BACK_DEPTH: usize = 16;
/// Boxes over one another.
pub const BOX_DEPTH: usize = 4;
/// Keys going down or up that wait for the panel; a press counts twice. More are lost.
pub const WAITING_KEYS: usize = 16;
/// A screen's timer.
pub const TIMER: [Seconds; 2] = [Seconds(1.0), Seconds(30.0 * 86_400.0)];
/// How long a `while` holds after something.
pub const AFTER: [Seconds; 2] = [Seconds(0.1), Seconds(30.0 * 86_400.0)];
/// How long a key is held before its hold does something.
pub const HOLD: [Seconds; 2] = [Seconds(0.2), Seconds(60.0)];
/// How soon and how often a press is repeated.
pub const REPEAT: [Seconds; 2] = [Seconds(0.05), Seconds(60.0)];
/// Times at which anything happens in one simulation.
pub const HAPPENINGS: u64 = 20_000_000;
/// Bytes from one line of a packed image to the next.
pub const STRIDE: u32 = 4_096;
/// Names in the path of one `--set`.
pub const SET_NAMES: usize = 32;
/// Bytes of one `--set`, path and value together.
pub const SET_BYTES: usize = 4_096;
/// `--set`s of one run.
pub const SETS: usize = 200;
