//! What goes to the firmware, and comes back from it.

#[path = "../firmware/mod.rs"]
mod firmware;

mod bringup_looks;
mod export_c;
mod export_formats;
mod export_live;
mod export_windows;
mod machine_projects;
mod machine_scripts;
mod machine_windows;
mod verify_dumps;
