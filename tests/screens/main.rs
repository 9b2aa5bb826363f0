//! Screens: elements, fonts, layout, redraw.

#[path = "../firmware/mod.rs"]
mod firmware;
#[path = "../sheet/mod.rs"]
mod sheet;

mod built_in_icons;
mod confusable_glyphs;
mod elements_flow_state;
mod elements_golden;
mod elements_inside;
mod elements_live;
mod elements_other_panels;
mod elements_qr;
mod elements_texts;
mod hinting;
mod labels;
mod outside_faces;
mod redraw;
mod rows_and_cursors;
mod schema_types;
mod units;
