//! 1-bit pictures: model, packing, dithering, files.

#[path = "../starter/mod.rs"]
mod starter;

mod frame_dither;
mod frame_files;
mod frame_model;
mod frame_pack;
mod outside_pictures;
