//! The live preview: a running device ([`session`]) seen in a window or a terminal.
//!
//! Both show the same session and understand the same commands. The window's contents are a plain picture
//! ([`scene`]) made without a window system, so they can be written to a file and compared in tests.

pub mod bezel;
pub mod canvas;
pub mod command;
pub mod facts;
pub mod fault;
mod overlay;
pub mod pace;
pub mod panel;
pub mod picture;
pub mod scene;
pub mod session;
mod strip;
#[cfg(feature = "cli")]
pub mod terminal;
pub mod theme;
pub mod view;
pub mod watch;
#[cfg(feature = "window")]
pub mod window;
#[cfg(not(feature = "window"))]
#[path = "windowless.rs"]
pub mod window;
pub mod words;
