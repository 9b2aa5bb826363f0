//! `schema`: JSON Schema of the project's files, for editors.

use super::{Outcome, Result, print_json};
use crate::project::schema::{File, schema};
use clap::Args;

/// Arguments of `schema`.
#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Which file.
    #[arg(value_enum, default_value_t = File::Device)]
    pub file: File,
}

/// Prints the schema.
///
/// # Errors
/// When standard output cannot be written.
pub fn run(args: &SchemaArgs) -> Result {
    print_json(&format!("{:#}\n", schema(args.file).to_value()))?;
    Ok(Outcome::Fine)
}
