// Written by inkjoule. Changes here are lost with the next export.
//! Compiles the C of this crate for the target.

fn main() {
    println!("cargo:rerun-if-changed=c");
    println!("cargo:rerun-if-changed=src/store.c");
    cc::Build::new()
        .include("c")
@FILES@
        .file("src/store.c")
        .std("c99")
        .opt_level_str("s")
        .compile("@NAME@_c");
}
