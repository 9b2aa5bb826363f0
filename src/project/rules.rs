//! What keys, timers and events do, as written: the same keys in every table that says what is done.

use crate::screen::condition::{ConditionSpec, OnField, OnPlace};
use crate::source::amount::{At, Qty};
use crate::units::Seconds;
use schemars::JsonSchema;
use serde::Deserialize;

/// What a table says is done, whatever table it is.
#[derive(Clone, Copy, Debug)]
pub struct Actions<'s> {
    /// The edited fields go back to what they were.
    pub cancel: bool,
    /// A field changes.
    pub change: Option<&'s At<ChangeSpec>>,
    /// A screen is shown.
    pub go: Option<&'s At<GoSpec>>,
    /// The screen before is shown.
    pub back: bool,
    /// A box opens.
    pub open: Option<&'s At<String>>,
    /// The box closes.
    pub close: bool,
    /// More, in order.
    pub more: &'s [At<ActionSpec>],
    /// Alternatives under conditions.
    pub first: &'s [At<AlternativeSpec>],
}

impl Actions<'_> {
    /// Whether anything is done.
    pub fn any(&self) -> bool {
        let plain = self.cancel || self.change.is_some() || self.go.is_some() || self.back || self.open.is_some();
        plain || self.close || !self.more.is_empty() || !self.first.is_empty()
    }
}

impl<'s> Actions<'s> {
    /// The names of all screens that it may show.
    pub fn targets(self) -> Vec<&'s str> {
        let each = |go: &'s GoSpec| match go {
            GoSpec::Screen(name) => std::slice::from_ref(name),
            GoSpec::By { to, .. } => to.as_slice(),
        };
        let more = self.more.iter().chain(self.first.iter().flat_map(|one| &one.value.actions));
        let more = more.filter_map(|action| match &action.value {
            ActionSpec::Go(go) => Some(go),
            _ => None,
        });
        self.go.map(|go| &go.value).into_iter().chain(more).flat_map(each).map(String::as_str).collect()
    }
}

/// A table that says what is done.
pub trait Acting {
    /// What it says.
    fn actions(&self) -> Actions<'_>;
}

macro_rules! acting {
    ($(#[$meta:meta])* $name:ident { $($(#[$about:meta])* $field:ident: $type:ty,)* }) => {
        $(#[$meta])*
        #[derive(Debug, Default, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
        pub struct $name {
            $($(#[$about])* pub $field: $type,)*
            /// Sets the fields that this screen edits back to what they were when it was entered.
            pub cancel: bool,
            /// The field it changes, and how.
            pub change: Option<At<ChangeSpec>>,
            /// The screen it leads to, or `{ by = "field", to = ["a", "b"] }` for the screen at the field's value.
            pub go: Option<At<GoSpec>>,
            /// Leads back to the screen that this one was entered from; over a screen, closes the box.
            pub back: bool,
            /// The box it opens.
            pub open: Option<At<String>>,
            /// Closes the box in front.
            pub close: bool,
            /// Several actions in order, in place of one.
            #[serde(rename = "do")]
            pub more: Vec<At<ActionSpec>>,
            /// Alternatives: the first whose `when` holds is carried out.
            pub first: Vec<At<AlternativeSpec>>,
        }

        impl Acting for $name {
            fn actions(&self) -> Actions<'_> {
                Actions {
                    cancel: self.cancel,
                    change: self.change.as_ref(),
                    go: self.go.as_ref(),
                    back: self.back,
                    open: self.open.as_ref(),
                    close: self.close,
                    more: &self.more,
                    first: &self.first,
                }
            }
        }
    };
}

acting! {
    /// A key on one screen.
    KeySpec {
        /// Its label; also an `@string`, with fields in braces.
        label: Option<At<String>>,
        /// In place of it several labels, each `{ text, when }`: the first whose `when` holds is shown.
        labels: Vec<At<LabelChoiceSpec>>,
        /// What it does when it is kept down. The press is then carried out when the key is let go earlier.
        hold: Option<At<HoldSpec>>,
        /// The press is done again and again while the key is kept down.
        repeat: Option<At<RepeatSpec>>,
        /// What it does when it is let go.
        release: Option<At<OnSpec>>,
    }
}

acting! {
    /// What a key does when it is kept down.
    HoldSpec {
        /// After so long; absent: one second.
        after: Option<At<Qty<Seconds>>>,
    }
}

acting! {
    /// A timer of a screen.
    AfterSpec {
        /// How long.
        wait: Option<At<Qty<Seconds>>>,
        /// From when it counts.
        since: SinceSpec,
    }
}

acting! {
    /// What an event does on one screen; an empty table: nothing, also where a rule that holds anywhere says more.
    OnSpec {}
}

/// A label under a condition.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct LabelChoiceSpec {
    /// The words.
    pub text: At<String>,
    /// Shown where this holds; absent: always, so it is the last one.
    #[schemars(with = "Option<OnPlace>")]
    pub when: Option<At<ConditionSpec>>,
}

impl KeySpec {
    /// Whether it has a label with words.
    pub fn is_labelled(&self) -> bool {
        let texts = self.label.iter().chain(self.labels.iter().map(|choice| &choice.value.text));
        texts.into_iter().any(|text| !text.value.trim().is_empty())
    }
}

/// How a press is repeated.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct RepeatSpec {
    /// First after so long; absent: 600 ms.
    pub after: Option<At<Qty<Seconds>>>,
    /// Then at this interval.
    pub every: At<Qty<Seconds>>,
    /// From some repetition on, changes by an amount are larger.
    pub faster: Option<At<FasterSpec>>,
}

/// Larger steps while a key stays down.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct FasterSpec {
    /// From this repetition on.
    pub from: u32,
    /// So many times as large.
    pub times: f64,
}

/// From when a timer counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SinceSpec {
    /// The screen's entry or the last press that did something here.
    #[default]
    Press,
    /// The screen's entry.
    Entry,
}

/// One action of several.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ActionSpec {
    /// A field changes.
    Change(ChangeSpec),
    /// A screen is shown.
    Go(GoSpec),
    /// `true`: the screen that this one was entered from is shown.
    Back(bool),
    /// A box opens.
    Open(String),
    /// `true`: the box in front closes.
    Close(bool),
    /// `true`: the edited fields go back to what they were.
    Cancel(bool),
}

/// An alternative.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct AlternativeSpec {
    /// Taken where this holds; absent: always, so it is the last one.
    #[schemars(with = "Option<OnField>")]
    pub when: Option<At<ConditionSpec>>,
    /// What is done then, in order.
    #[serde(rename = "do")]
    pub actions: Vec<At<ActionSpec>>,
}

/// Where an action leads.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected the name of a screen, or { by = \"field\", to = [\"a\", \"b\"] }")]
pub enum GoSpec {
    /// A screen.
    Screen(String),
    /// The screen at a field's value.
    By {
        /// The field.
        by: String,
        /// The screens for the values 0, 1, 2, ...
        to: Vec<String>,
    },
}

/// A change of a field.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct ChangeSpec {
    /// The field; with `item` a list of fields.
    pub field: At<FieldsSpec>,
    /// Added to it, in the unit that is shown.
    pub by: Option<f64>,
    /// Set to this.
    pub to: Option<f64>,
    /// With `by`: what is added counts in the digit that this field names, 0 being the last one shown.
    pub digit: Option<At<String>>,
    /// Of a list of fields the one that this field names, 0 being the first, is changed.
    pub item: Option<At<String>>,
    /// Of a text the character that this field names, 0 being the first, is changed: `by` goes through its letters.
    pub character: Option<At<String>>,
    /// Past an end of its range the field goes on from the other end; else it stops there.
    #[serde(default)]
    pub wrap: bool,
    /// The box that opens where the value would leave its range: the value then stays as it was, and what else the key
    /// would do is not done.
    pub outside: Option<At<String>>,
}

/// A field, or several.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(untagged, expecting = "expected the name of a field, or with `item` a list of names")]
pub enum FieldsSpec {
    /// One.
    One(String),
    /// Several.
    Several(Vec<String>),
}

impl FieldsSpec {
    /// Their names.
    pub fn names(&self) -> &[String] {
        match self {
            Self::One(name) => std::slice::from_ref(name),
            Self::Several(names) => names,
        }
    }
}
