//! What may draw at one time: the largest sets that stated exclusions leave.
//!
//! Not for how much it draws: see [`crate::cost::moment`].

/// Something that draws now and then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Party {
    /// An update of the panel.
    Update,
    /// A load of the board that is pulsed or bound to a condition, by its position.
    Load(usize),
    /// An event, by its position.
    Event(usize),
}

/// The largest sets of parties of which no two exclude one another: every set that nothing can be added to. Those that
/// exclude nothing are in all of them; the others are tried in every combination.
pub fn coincident(all: &[Party], apart: &[(Party, Party)]) -> Vec<Vec<Party>> {
    let excludes = |a: Party, b: Party| apart.iter().any(|(x, y)| (*x == a && *y == b) || (*x == b && *y == a));
    let (bound, free): (Vec<Party>, Vec<Party>) = all.iter().partition(|a| all.iter().any(|b| excludes(**a, *b)));
    let sound = |set: u32| {
        let chosen = |place: usize| set >> place & 1 == 1;
        (0..bound.len()).all(|a| (0..a).all(|b| !(chosen(a) && chosen(b) && excludes(bound[a], bound[b]))))
    };
    let sets: Vec<u32> = (0..1u32 << bound.len()).filter(|set| sound(*set)).collect();
    let largest = sets.iter().filter(|set| !sets.iter().any(|other| other != *set && *other & **set == **set));
    largest
        .map(|set| {
            let chosen = bound.iter().enumerate().filter(|(place, _)| set >> place & 1 == 1).map(|(_, party)| *party);
            chosen.chain(free.iter().copied()).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::Party::{Event, Load, Update};
    use super::*;

    #[test]
    fn exclusions_leave_the_largest_sets() {
        let all = [Update, Load(0), Event(0), Event(1)];
        assert_eq!(coincident(&all, &[]), [all.to_vec()]);
        let sets = coincident(&all, &[(Event(0), Update), (Event(0), Event(1))]);
        // Either the one event, or update and other event; the load beside both.
        assert_eq!(sets, [vec![Event(0), Load(0)], vec![Update, Event(1), Load(0)]]);
    }
}
