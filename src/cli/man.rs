//! `man`: the manual page, of the program or of one command.

use super::args::Arguments;
use super::{Outcome, Result, Stop, print};
use crate::source::fault::{Fault, nearest};
use clap::{Args, CommandFactory};

/// Arguments of `man`.
#[derive(Debug, Args)]
pub struct ManArgs {
    /// The command; without it, the program.
    pub command: Option<String>,
}

/// Prints the page.
///
/// # Errors
/// When there is no such command, or standard output cannot be written.
pub fn run(args: &ManArgs) -> Result {
    let program = Arguments::command();
    let command = match &args.command {
        None => program,
        Some(name) => match program.find_subcommand(name) {
            Some(verb) => verb.clone().display_name(format!("inkjoule-{name}")),
            None => {
                let verbs: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
                let fault = Fault::plain(format!("there is no command `{name}`"));
                return Err(Stop::from(fault.help(nearest(name, verbs).unwrap_or_default())));
            }
        },
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command)
        .render(&mut page)
        .map_err(|why| Stop::from(Fault::plain(format!("cannot make the manual page: {why}"))))?;
    print(&String::from_utf8_lossy(&page))?;
    Ok(Outcome::Fine)
}
