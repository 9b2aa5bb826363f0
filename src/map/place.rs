//! Where cards stand: in columns from left to right, each by the shortest way from the home screen, and in rows so that
//! what belongs together is near. Pure positions in a grid.

use std::collections::VecDeque;

/// A place in the grid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CardPlace {
    /// From the left.
    pub column: usize,
    /// From the top.
    pub row: usize,
}

/// Rounds in which rows are ordered by what leads to and from them.
const ROUNDS: usize = 6;

/// Places cards; `ways` lead from card to card, `shape` is the width of a card's cell over its height.
pub fn place(cards: usize, ways: &[(usize, usize)], home: usize, shape: f32) -> Vec<CardPlace> {
    let ranks = ranks(cards, ways, home);
    // About three wide and two high.
    let rows = ((cards as f32 * shape / 1.5).sqrt().round() as usize).max(2);
    let mut columns = columns(&ranks, rows);
    let neighbours = neighbours(cards, ways);
    let mut at = settle(&columns, cards, &neighbours, rows);
    for _ in 0..ROUNDS {
        for (column, _) in columns.iter_mut().filter(|(_, free)| *free) {
            let wish = |card: &usize| wish(&neighbours[*card], &at, at[*card].row);
            column.sort_by(|a, b| wish(a).total_cmp(&wish(b)));
        }
        at = settle(&columns, cards, &neighbours, rows);
    }
    at
}

/// Steps of the shortest way from the home screen, in the order in which the cards are met; what nothing leads to comes
/// last.
fn ranks(cards: usize, ways: &[(usize, usize)], home: usize) -> Vec<(usize, usize)> {
    let mut met = vec![false; cards];
    let mut ranks: Vec<(usize, usize)> = Vec::with_capacity(cards);
    let mut open = VecDeque::from([(home, 0)]);
    met.get_mut(home).into_iter().for_each(|met| *met = true);
    while let Some((from, rank)) = open.pop_front() {
        ranks.push((from, rank));
        for (_, to) in ways.iter().filter(|(start, _)| *start == from) {
            if !std::mem::replace(&mut met[*to], true) {
                open.push_back((*to, rank + 1));
            }
        }
    }
    let last = ranks.last().map_or(0, |(_, rank)| rank + 1);
    ranks.extend((0..cards).filter(|card| !met[*card]).map(|card| (card, last)));
    ranks
}

/// A column, and whether its order may change: several ranks in one stay in theirs.
type Column = (Vec<usize>, bool);

/// The cards of each column. A rank of too many is split; small ranks share a column, more of them where there are many.
fn columns(ranks: &[(usize, usize)], rows: usize) -> Vec<Column> {
    let by_rank = ranks.chunk_by(|a, b| a.1 == b.1);
    let split: Vec<Vec<usize>> = by_rank
        .flat_map(|rank| rank.chunks(rows).map(|part| part.iter().map(|(card, _)| *card).collect()).collect::<Vec<_>>())
        .collect();
    let many = split.len() > (ranks.len().div_ceil(rows) * 8).div_ceil(5) + 1;
    let room = if many { rows } else { (rows / 2).max(2) };
    let mut merged: Vec<Column> = Vec::new();
    for column in split {
        // The home screen stands alone where there is room.
        let first = merged.len() < 2 && !many;
        match merged.last_mut().filter(|(last, _)| !first && last.len() + column.len() <= room) {
            Some((last, free)) => {
                last.extend(column);
                *free = false;
            }
            None => merged.push((column, true)),
        }
    }
    merged
}

fn neighbours(cards: usize, ways: &[(usize, usize)]) -> Vec<Vec<usize>> {
    let mut neighbours = vec![Vec::new(); cards];
    for (from, to) in ways {
        neighbours[*from].push(*to);
        neighbours[*to].push(*from);
    }
    neighbours
}

/// The row that a card would like: the mean of its neighbours'.
fn wish(neighbours: &[usize], at: &[CardPlace], own: usize) -> f32 {
    match neighbours.len() {
        0 => own as f32,
        count => neighbours.iter().map(|other| at[*other].row as f32).sum::<f32>() / count as f32,
    }
}

/// Rows for columns in their order: each card as near to its wish as the order allows.
fn settle(columns: &[Column], cards: usize, neighbours: &[Vec<usize>], rows: usize) -> Vec<CardPlace> {
    let mut at = vec![CardPlace::default(); cards];
    let rows = rows.max(columns.iter().map(|(list, _)| list.len()).max().unwrap_or(0));
    for (column, (list, _)) in columns.iter().enumerate() {
        let mut free = 0;
        for (index, card) in list.iter().enumerate() {
            // Only those to the left stand already.
            let left: Vec<usize> =
                neighbours[*card].iter().copied().filter(|other| at[*other].column < column).collect();
            let wish = if column == 0 { 0.0 } else { wish(&left, &at, index) };
            let most = rows - (list.len() - index);
            let row = (wish.round() as usize).clamp(free, most.max(free));
            at[*card] = CardPlace { column, row };
            free = row + 1;
        }
    }
    at
}
