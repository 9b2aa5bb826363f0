//! Lints.

mod lint_cost;
mod lint_faulty;
mod lint_links;
