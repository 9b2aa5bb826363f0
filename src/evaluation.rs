//! One project as a whole: loaded, with its budget and what `check` finds in it.

use crate::budget::summary::{Budget, budget};
use crate::check;
use crate::device::Device;
use crate::lint::{Finding, Subject};
use crate::project::{ProjectFault, load_files};
use crate::source::fault::Level;
use crate::source::files::Files;
use crate::source::spans::Sources;

/// A project with its budget and findings.
#[derive(Debug)]
pub struct Evaluation {
    /// How it is called: the project as it was named, with its revision or profile.
    pub label: String,
    /// Its files, for what-ifs.
    pub files: Files,
    /// The text its findings point to.
    pub sources: Sources,
    /// The model.
    pub device: Device,
    /// Every figure.
    pub budget: Budget,
    /// What `check` finds, errors and warnings.
    pub findings: Vec<Finding>,
}

impl Evaluation {
    /// Loads and evaluates a project.
    ///
    /// # Errors
    /// When it cannot be loaded.
    pub fn of(label: impl Into<String>, files: Files) -> Result<Self, Box<ProjectFault>> {
        let loaded = load_files(files.clone())?;
        let locales = (0..loaded.device.locales.len()).collect();
        let budget = budget(&loaded.device);
        if let Some(fault) = budget.refusal(&loaded.device) {
            return Err(ProjectFault::of(vec![fault], loaded.sources));
        }
        let findings = check::all(&loaded.warnings, &Subject::new(&loaded.device, locales), &budget);
        Ok(Self { label: label.into(), files, sources: loaded.sources, device: loaded.device, budget, findings })
    }

    /// Findings of a level.
    pub fn count(&self, level: Level) -> usize {
        self.findings.iter().filter(|finding| finding.fault.level == level).count()
    }
}
