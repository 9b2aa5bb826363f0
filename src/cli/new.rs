//! `new`: a commented starter project.

use super::{Outcome, Result, print};
use crate::output;
use crate::source::fault::Fault;
use clap::Args;
use std::path::{Path, PathBuf};

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// The folder to make.
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

/// The files of the starter project.
const FILES: &[(&str, &str)] = &[
    ("device.toml", include_str!("starter/device.toml")),
    ("screens/home.toml", include_str!("starter/home.toml")),
    ("screens/empty.toml", include_str!("starter/empty.toml")),
];

/// The product's name in the starter project, which the folder's own name takes the place of.
const NAME: &str = "\"My instrument\"";

/// `device.toml` for a product called like its folder; the starter's own name where the folder's is no text.
fn named(text: &str, folder: &Path) -> String {
    let absolute = std::path::absolute(folder).ok();
    match absolute.as_deref().and_then(Path::file_name).and_then(|name| name.to_str()) {
        Some(name) => text.replacen(NAME, &toml::Value::from(name).to_string(), 1),
        None => text.to_owned(),
    }
}

/// Writes the project.
///
/// # Errors
/// When the folder already holds a project or cannot be written.
pub fn run(args: &NewArgs) -> Result {
    if args.folder.join("device.toml").exists() {
        let fault = Fault::plain(format!("{} already holds a project", args.folder.display()));
        return Err(fault.help("name another folder").into());
    }
    let files: Vec<(String, Vec<u8>)> =
        FILES.iter().map(|(name, text)| (name.to_string(), named(text, &args.folder).into_bytes())).collect();
    // Whatever lies there is somebody else's, even where it is no whole project.
    if let Some((name, _)) = files.iter().find(|(name, _)| args.folder.join(name).exists()) {
        let fault = Fault::plain(format!("{} is there already", args.folder.join(name).display()));
        return Err(fault.help("name another folder").into());
    }
    output::write_all(&args.folder, &files)?;
    let folder = args.folder.display();
    print(&format!("a starter project in {folder}; try: inkjoule check {folder}\n"))?;
    Ok(Outcome::Fine)
}
