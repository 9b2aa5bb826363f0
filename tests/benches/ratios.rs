//! `cargo bench`: one table of ratios, each of this program against the straightforward way on the same libraries.
//!
//! Both sides of a ratio are measured in the same run, turn by turn, so that a busy machine slows both. Not a test:
//! nothing fails when a figure is missed, and `cargo test` does not run it. A word as argument limits the run to rows
//! that hold it: `cargo bench -- pack`.

mod behaviour;
mod devices;
mod frames;
mod pair;
mod pillow;
mod plain;
mod previews;
mod projects;
mod table;
mod windows;

use table::Table;

fn main() {
    // Cargo itself passes `--bench`.
    let filter = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let mut table = Table::new(filter);
    devices::rows(&mut table);
    behaviour::rows(&mut table);
    frames::rows(&mut table);
    windows::rows(&mut table);
    pillow::rows(&mut table);
    projects::rows(&mut table);
    previews::rows(&mut table);
    table.print();
}
