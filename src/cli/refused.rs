//! What `check` says of a project that cannot be used: its faults, what can be found all the same, and what cannot.

use super::check::{CheckArgs, CheckFormat, LISTED, document, folded, json, sarif};
use super::{Result, Stop, print_json, say};
use crate::assets::pseudo::PSEUDO;
use crate::assets::strings::NAMED;
use crate::device::Device;
use crate::lint::{Finding, Subject, partly};
use crate::project::{ProjectFault, Settled};
use crate::sarif::Entry;
use crate::source::fault::{Fault, Level};
use crate::source::spans::{Sources, Span};
use serde_json::{Value, json as value};

/// Reports a project that cannot be used.
pub(super) fn refused(failed: ProjectFault, args: &CheckArgs) -> Result {
    let ProjectFault { mut faults, sources, draft, settled } = failed;
    if let Some(device) = &draft {
        faults.extend(found(device, settled, &faults));
    }
    let unchecked = unchecked(draft.is_some(), settled);
    match args.format {
        CheckFormat::Text => {
            let kept = if args.all { usize::MAX } else { LISTED };
            super::show(&folded(faults, kept), &sources);
            say(&format!("not checked until this is mended: {}\n", unchecked.join(", ")));
        }
        CheckFormat::Json => {
            let findings: Vec<Value> = faults.iter().map(|fault| json(fault, &sources)).collect();
            let mut document = document(findings);
            document["unchecked"] = value!(unchecked);
            print_json(&format!("{document:#}\n"))?;
        }
        CheckFormat::Sarif => {
            let levels = draft.map(|device| device.levels).unwrap_or_default();
            let entries: Vec<Entry<'_>> = faults.iter().map(|fault| Entry { fault, shown: None }).collect();
            sarif(args, &entries, &sources, &levels, 2)?;
        }
    }
    Err(Stop { faults: Vec::new(), sources: Sources::default() })
}

/// What the lints find all the same. Of an element that is itself at fault, or shows the name of a string that is not
/// there, nothing is said.
fn found(device: &Device, settled: Settled, faults: &[Fault]) -> Vec<Fault> {
    let locales = (0..device.locales.len()).filter(|locale| device.locales[*locale] != PSEUDO).collect();
    let wrong: Vec<Span> =
        faults.iter().filter(|fault| fault.level == Level::Error).filter_map(|fault| fault.span.clone()).collect();
    let holds =
        |span: &Span| wrong.iter().any(|inner| span.start <= inner.start && inner.end <= span.end && inner != span);
    let sound = |finding: &Finding| {
        !finding.fault.span.as_ref().is_some_and(holds) && !finding.fault.message.contains(&format!("`{NAMED}"))
    };
    let findings = partly(&Subject::new(device, locales), settled.flow, settled.screens);
    findings.into_iter().filter(sound).map(|finding| finding.fault).collect()
}

/// What is not looked at.
fn unchecked(drawn: bool, settled: Settled) -> Vec<&'static str> {
    let Settled { flow, screens } = settled;
    let parts = [
        (!drawn, "layouts"),
        (!(drawn && flow), "the flow"),
        (!(drawn && flow && screens), "other lints of the screens"),
        (true, "supply and latency"),
        (true, "limits"),
    ];
    parts.into_iter().filter(|(missing, _)| *missing).map(|(_, part)| part).collect()
}
