//! The guide: one page a theme, for whoever designs an instrument. `inkjoule guide` prints the same pages.
//!
//! Every example on a page is run by a test: pieces of a project load and check without an error, commands succeed, C
//! compiles. The reference of all keys is made from the JSON Schema, which is made from the types that read the files.

mod keys;
pub mod reflow;

pub use keys::keys;

/// One page.
#[derive(Clone, Copy, Debug)]
pub struct Page {
    /// What the command line calls it.
    pub name: &'static str,
    /// Its text, in Markdown.
    pub text: &'static str,
}

impl Page {
    /// Its first line, without the mark of a heading.
    pub fn title(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches(['#', ' '])
    }
}

/// Declares the pages: a module of documentation for each, and the list.
macro_rules! pages {
    ($($module:ident $name:literal,)*) => {
        $(
            #[doc = include_str!(concat!($name, ".md"))]
            pub mod $module {}
        )*

        /// Every page, in the order in which a new user needs them.
        pub const PAGES: &[Page] = &[$(Page { name: $name, text: include_str!(concat!($name, ".md")) },)*];
    };
}

pages! {
    first_screen "first-screen",
    elements "elements",
    behaviour "behaviour",
    usage "usage",
    power "power",
    refresh "refresh",
    firmware "firmware",
    bring_up "bring-up",
    measuring "measuring",
    checking "checking",
    cannot_say "cannot-say",
    commands "commands",
}

/// The page of a name.
pub fn page(name: &str) -> Option<&'static Page> {
    PAGES.iter().find(|page| page.name == name)
}
