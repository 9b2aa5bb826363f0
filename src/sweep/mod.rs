//! A sweep, written as text. The sweep itself is [`crate::figures::sweep`].

pub mod text;
