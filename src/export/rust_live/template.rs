//! Files of the crate with places for what differs by design. Not for what stands there.

/// What a design puts into the files, and which parts of them it needs.
#[derive(Clone, Debug, Default)]
pub struct Template {
    values: Vec<(&'static str, String)>,
    parts: Vec<&'static str>,
}

impl Template {
    /// With a text for `@NAME@`.
    pub fn with(mut self, name: &'static str, text: impl ToString) -> Self {
        self.values.push((name, text.to_string()));
        self
    }

    /// With what stands between `@IF:PART@` and `@END@`, where it is needed.
    pub fn part(mut self, part: &'static str, needed: bool) -> Self {
        self.parts.extend(needed.then_some(part));
        self
    }

    /// The file of a design. Texts that are put in are not looked at again, whatever stands in them.
    pub fn fill(&self, file: &str) -> String {
        let mut text = String::with_capacity(file.len());
        let mut left_out = false;
        for line in file.lines() {
            let mark = line.trim_start().trim_start_matches("// ");
            if let Some(part) = mark.strip_prefix("@IF:").and_then(|rest| rest.strip_suffix('@')) {
                left_out = !self.parts.contains(&part);
            } else if mark == "@END@" {
                left_out = false;
            } else if !left_out {
                self.line(line, &mut text);
            }
        }
        text
    }

    fn line(&self, line: &str, text: &mut String) {
        let mut rest = line;
        while let Some((before, after)) = rest.split_once('@') {
            text.push_str(before);
            let known = after.split_once('@').and_then(|(name, after)| Some((self.value(name)?, after)));
            let (value, after) = known.unwrap_or(("@", after));
            text.push_str(value);
            rest = after;
        }
        text.push_str(rest);
        // A text of whole lines that stands alone brings the end of the last one.
        if !(rest.is_empty() && line.ends_with('@') && (text.is_empty() || text.ends_with('\n'))) {
            text.push('\n');
        }
    }

    fn value(&self, name: &str) -> Option<&str> {
        self.values.iter().find(|(known, _)| *known == name).map(|(_, text)| text.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_filled_once_and_parts_left_out() {
        let template = Template::default().with("A", "@B@").with("B", 7).part("KEYS", true);
        let file = "a @A@ @B@\n@B@\n    // @IF:KEYS@\nkeys\n    // @END@\n// @IF:EVENTS@\nevents\n// @END@\nend\n";
        assert_eq!(template.fill(file), "a @B@ 7\n7\nkeys\nend\n");
        assert_eq!(template.fill("a@b.c @C@ @B@\n"), "a@b.c @C@ 7\n");
    }

    #[test]
    fn lists_that_stand_alone_bring_their_lines() {
        let lists = Template::default().with("LINES", "a\nb\n").with("NONE", "");
        assert_eq!(lists.fill("[\n@LINES@];\n[\n@NONE@];\n"), "[\na\nb\n];\n[\n];\n");
    }
}
