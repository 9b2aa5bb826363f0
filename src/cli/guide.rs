//! `guide`: prints a page of the guide.

use super::{Outcome, Result, print, stated_width};
use crate::guide::reflow::reflow;
use crate::guide::{PAGES, keys, page};
use crate::source::fault::{Fault, nearest};
use clap::Args;
use std::io::IsTerminal;

/// The page that is made from the schema.
const KEYS: &str = "keys";

/// Arguments of `guide`.
#[derive(Debug, Args)]
pub struct GuideArgs {
    /// The page; without it, the pages are listed. `keys` is the reference of all keys.
    pub page: Option<String>,
}

/// Prints a page, or the list of pages.
///
/// # Errors
/// When there is no such page, or standard output cannot be written.
pub fn run(args: &GuideArgs) -> Result {
    match args.page.as_deref() {
        None => {
            let wide = PAGES.iter().map(|page| page.name.len()).max().unwrap_or(0);
            let mut text = String::new();
            for (name, title) in
                PAGES.iter().map(|page| (page.name, page.title())).chain([(KEYS, "All keys of all files")])
            {
                text += &format!("{name:wide$}  {title}\n");
            }
            print(&text)?;
        }
        Some(KEYS) => match stated_width(std::io::stdout().is_terminal()) {
            Some(width) => print(&reflow(&keys(), width))?,
            None => print(&keys())?,
        },
        Some(name) => match page(name) {
            Some(page) => match stated_width(std::io::stdout().is_terminal()) {
                Some(width) => print(&reflow(page.text, width))?,
                None => print(page.text)?,
            },
            None => {
                let help = nearest(name, PAGES.iter().map(|page| page.name).chain([KEYS]));
                return Err(Fault::plain(format!("the guide has no page `{name}`"))
                    .help(help.unwrap_or_default())
                    .into());
            }
        },
    }
    Ok(Outcome::Fine)
}
