//! Lints.

mod lint_faulty;
mod lint_links;
