//! The command line: one file a verb, each with its arguments and one public `run`.

pub mod args;
pub mod baseline;
mod bringup;
pub mod budget;
pub mod check;
pub mod compare;
pub mod completions;
mod drawing;
pub mod export;
pub mod fonts;
pub mod guide;
pub mod man;
pub mod new;
pub mod packing;
pub mod preview;
pub mod profiles;
mod refused;
pub mod render;
pub mod report;
pub mod schema;
pub mod sweep;
pub mod trace;
pub mod verify;

use crate::assets::pseudo::PSEUDO;
use crate::look::{Look, styled};
use crate::project::{self, Loaded, ProjectFault, load_files};
use crate::source::fault::{self, Fault, Level};
use crate::source::files::Files;
use crate::source::spans::Sources;
use crate::visible::{in_json, visible};
use args::{Arguments, ProjectArgs, Verb};
use clap::Parser;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;

/// Why a verb stopped without a result: usage or input that cannot be used. The exit status is 2.
#[derive(Debug)]
pub struct Stop {
    faults: Vec<Fault>,
    sources: Sources,
}

impl From<Fault> for Stop {
    fn from(fault: Fault) -> Self {
        Self { faults: vec![fault], sources: Sources::default() }
    }
}

/// How a verb ended that did its work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// All is well: exit status 0.
    Fine,
    /// The project breaks a limit or a lint at error level: exit status 1.
    Broken,
}

/// The result of a verb.
pub type Result = std::result::Result<Outcome, Stop>;

/// Runs the program with the arguments of the process.
pub fn main() -> ExitCode {
    // A file that grows past the process's limit would end the program with half of it beside: the write fails instead,
    // and is told and cleared away like a full disk. Where that cannot be asked for, all is as before.
    #[cfg(unix)]
    let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, std::sync::Arc::default());
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(why) => {
            return usage(&why);
        }
    };
    let result = match &arguments.verb {
        Verb::New(args) => new::run(args),
        Verb::Check(args) => check::run(args),
        Verb::Render(args) => render::run(args),
        Verb::Preview(args) => preview::run(args),
        Verb::Budget(args) => budget::run(args),
        Verb::Trace(args) => trace::run(args),
        Verb::Sweep(args) => sweep::run(args),
        Verb::Profiles(args) => profiles::run(args),
        Verb::Compare(args) => compare::run(args),
        Verb::Report(args) => report::run(args),
        Verb::Export(args) => export::run(args),
        Verb::Bringup(args) => bringup::run(args),
        Verb::Verify(args) => verify::run(args),
        Verb::Fonts(args) => fonts::run(args),
        Verb::Schema(args) => schema::run(args),
        Verb::Completions(args) => completions::run(args),
        Verb::Guide(args) => guide::run(args),
        Verb::Man(args) => man::run(args),
    };
    match result {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::Broken) => ExitCode::from(1),
        Err(stop) => {
            show(&stop.faults, &stop.sources);
            ExitCode::from(2)
        }
    }
}

/// Prints help, version or what is wrong with the arguments.
fn usage(why: &clap::Error) -> ExitCode {
    let plain = why.render().to_string();
    let shown = visible(&plain);
    if why.use_stderr() {
        // What was typed is quoted, and may hold what steers a terminal: then without colours. A closed pipe is no reason
        // to panic.
        let _ = if shown == plain { why.print() } else { std::io::stderr().lock().write_all(shown.as_bytes()) };
        return ExitCode::from(2);
    }
    match why.print().and_then(|()| std::io::stdout().flush()) {
        Err(why) if why.kind() != std::io::ErrorKind::BrokenPipe => {
            show(&[Fault::plain(format!("cannot write to standard output: {why}"))], &Sources::default());
            ExitCode::from(2)
        }
        _ => ExitCode::SUCCESS,
    }
}

/// Shows findings on standard error, with a count of the errors where there are several.
pub fn show(faults: &[Fault], sources: &Sources) {
    show_findings(faults, sources);
    let errors = faults.iter().filter(|fault| fault.level == Level::Error).count();
    if errors > 1 {
        let _ = writeln!(std::io::stderr().lock(), "{errors} errors");
    }
}

/// Says something for people on standard error, in lines that fit.
fn say(text: &str) {
    let mut stderr = std::io::stderr().lock();
    let look = Look { width: width(stderr.is_terminal()), color: false };
    let _ = stderr.write_all(look.fitted(&visible(text)).as_bytes());
}

/// Shows findings on standard error.
pub fn show_findings(faults: &[Fault], sources: &Sources) {
    let mut stderr = std::io::stderr().lock();
    let colour = stderr.is_terminal() && std::env::var_os("NO_COLOR").is_none();
    let width = width(stderr.is_terminal());
    let _ = stderr.write_all(fault::render_within(faults, sources, colour, width).as_bytes());
}

/// Loads the project; errors stop the verb. Its warnings are for `check` to show: nobody needs them with every picture.
pub fn open(args: &ProjectArgs) -> std::result::Result<Loaded, Stop> {
    opened(files(args, None))
}

/// The files of a project, for a locale where one is named: the pseudo-locale is there only on demand.
pub fn files(args: &ProjectArgs, locale: Option<&str>) -> std::result::Result<Files, Box<ProjectFault>> {
    let mut files = project::read(&args.project, &args.changes())?;
    files.pseudo = locale == Some(PSEUDO);
    Ok(files)
}

/// Loads a project's files; as [`open`].
pub fn opened(files: std::result::Result<Files, Box<ProjectFault>>) -> std::result::Result<Loaded, Stop> {
    let loaded = files.and_then(load_files);
    loaded.map_err(|failed| Stop { faults: failed.faults, sources: failed.sources })
}

/// How standard output is written to: its width, and colours on a terminal unless `NO_COLOR` is set.
pub fn look() -> Look {
    let terminal = std::io::stdout().is_terminal();
    let plain = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    Look { width: width(terminal), color: terminal && !plain }
}

/// Characters of a line where a reader says so: `COLUMNS`, or the terminal's own width.
fn stated_width(terminal: bool) -> Option<usize> {
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.trim().parse().ok());
    let wide = || crossterm::terminal::size().ok().map(|(columns, _)| usize::from(columns));
    let width = columns.or_else(|| if terminal { wide() } else { None });
    width.filter(|width| *width > 0).map(|width| width.clamp(40, 120))
}

/// Characters of a line.
fn width(terminal: bool) -> usize {
    stated_width(terminal).unwrap_or(100)
}

/// Writes text with the styles of [`Look`] to standard output; all that the project says is made visible first.
pub fn print_styled(text: &str) -> std::result::Result<(), Stop> {
    written(&styled(&visible(text)))
}

/// Writes text for people to standard output; what would steer a terminal is made visible. A reader that has gone away is
/// no error; anything else is.
pub fn print(text: &str) -> std::result::Result<(), Stop> {
    written(&visible(text))
}

/// As [`print()`], in lines that fit the terminal: for what is read, not for files and scripts.
pub fn print_fitted(text: &str) -> std::result::Result<(), Stop> {
    print(&look().fitted(&visible(text)))
}

/// Writes JSON to standard output; what would steer a terminal is escaped as JSON does it.
pub fn print_json(text: &str) -> std::result::Result<(), Stop> {
    written(&in_json(text))
}

fn written(text: &str) -> std::result::Result<(), Stop> {
    let mut stdout = std::io::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(why) if why.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Fault::plain(format!("cannot write to standard output: {why}")).into())
        }
        _ => Ok(()),
    }
}
