//! Every limit on the size of a project and of what is made from it, in one place.

/// Files in a project.
pub const FILES: usize = 5_000;
/// Bytes of one file.
pub const FILE_BYTES: u64 = 16 << 20;
/// Bytes of all files together.
pub const PROJECT_BYTES: u64 = 64 << 20;
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
/// Pictures of screens: screens times locales.
pub const PICTURES: usize = 10_000;
/// Live values.
pub const FIELDS: usize = 2_000;
/// Events.
pub const EVENTS: usize = 500;
/// Journeys.
pub const JOURNEYS: usize = 500;
/// Glyphs of one bitmap face.
pub const GLYPHS: usize = 65_536;
/// Elements on one screen, parts counted with their content.
pub const ELEMENTS: usize = 20_000;
/// Bytes of one text.
pub const TEXT_BYTES: usize = 4_096;
/// Soft keys.
pub const KEYS: usize = 16;
/// Days of one simulation.
pub const DAYS: u32 = 366;
/// Refreshes of one simulation.
pub const UPDATES: u64 = 2_000_000;
/// Steps of one journey, repetitions counted.
pub const STEPS: usize = 1_000;
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
/// Scale of a picture written to a file.
pub const SCALE: u32 = 16;
