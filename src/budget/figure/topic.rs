//! What explanations are about: each figure belongs to one, some tell more than figures.
//!
//! Not here: how an explanation is made; see [`crate::budget::explain`].

macro_rules! topics {
    ($($id:ident: $name:literal, $about:literal;)*) => {
        /// What an explanation is about.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Topic {
            $(#[doc = $about] $id,)*
        }

        impl Topic {
            /// Every topic, in the order of lists.
            pub const ALL: &[Self] = &[$(Self::$id),*];

            /// Its name as an argument: `usable-charge`.
            pub fn name(self) -> &'static str {
                match self { $(Self::$id => $name,)* }
            }

            /// What it tells.
            pub fn about(self) -> &'static str {
                match self { $(Self::$id => $about,)* }
            }
        }
    };
}

topics! {
    Life: "life", "the typical life and what ends it";
    Fleet: "fleet", "the spread of lives over devices";
    UsableCharge: "usable-charge", "what a new battery can give";
    Battery: "battery", "the battery's tables with their sources";
    Supply: "supply", "the voltage under peak load";
    Charging: "charging", "the time of a charge from the reserve";
    Wear: "wear", "full cycles of the battery, rated refreshes of the panel";
    LastScreen: "last-screen", "what is reserved for the last screen";
    Day: "day", "the energy of a day by cause";
    AlwaysOn: "always-on", "loads that are always there";
    Counts: "counts", "refreshes, presses and journeys of a day";
    Policy: "policy", "full and partial refreshes and the minimum-energy schedule";
    Residue: "residue", "the worst ghosting residue";
    Latency: "latency", "key-to-display latency";
    Updates: "updates", "the longest and the most expensive updates";
    Memory: "memory", "buffering of the image";
    Flash: "flash", "what screens and firmware take of flash and RAM";
    Sensitivity: "sensitivity", "what moves the life most";
}

impl Topic {
    /// The topic of a name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|topic| topic.name() == name)
    }
}
