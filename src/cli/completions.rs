//! `completions`: a completion script for a shell.

use super::args::Arguments;
use super::{Outcome, Result, print};
use clap::{Args, CommandFactory};
use clap_complete::Shell;

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct CompletionsArgs {
    /// The shell.
    #[arg(value_enum)]
    pub shell: Shell,
}

/// Prints the script.
///
/// # Errors
/// When standard output cannot be written.
pub fn run(args: &CompletionsArgs) -> Result {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Arguments::command(), "inkjoule", &mut script);
    print(&String::from_utf8_lossy(&script))?;
    Ok(Outcome::Fine)
}
