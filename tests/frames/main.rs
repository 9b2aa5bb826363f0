//! 1-bit pictures: model, packing, dithering, files.

#[cfg(feature = "cli")]
#[path = "../starter/mod.rs"]
mod starter;

mod frame_dither;
mod frame_files;
mod frame_model;
mod frame_pack;
#[cfg(feature = "cli")]
mod outside_pictures;
