//! What goes to the firmware, and comes back from it.

#[path = "../firmware/mod.rs"]
mod firmware;
#[path = "../sheet/mod.rs"]
mod sheet;

mod bringup_looks;
mod export_c;
mod export_costs;
mod export_elements;
mod export_formats;
mod export_live;
mod export_main;
mod export_prices;
mod export_settings;
mod export_stack;
mod export_windows;
mod guide_claims;
mod header;
mod machine_designs;
mod machine_occurrences;
mod machine_program;
mod machine_projects;
mod machine_script;
mod machine_scripts;
mod machine_windows;
mod rust_device;
mod rust_live;
mod verify_dumps;
