//! The order in which a joint's fasteners are tightened, drawn as they lie: in each ring its turn,
//! under it the fastener's own number where that is another.

use glam::DVec2;

use super::{Anchor, Drawing, Pen, Role};

/// From fastener to fastener, and from row to row.
const APART_MM: f64 = 14.0;
const ROW_MM: f64 = 14.6;
/// A ring, and what stands in it and under it.
const RADIUS_MM: f64 = 4.2;
const TURN_MM: f64 = 4.2;
const OWN_MM: f64 = 2.6;
/// Fasteners in a row where their places are not known.
const ABREAST: usize = 12;

/// The order of tightening, and a sentence of it. `rows` says where the fasteners lie, by their
/// numbers, 0 for a place without one; where it is empty they stand in their turn, one after another.
/// None where there is no order.
pub fn fasteners(order: &[u32], rows: &[Vec<u32>]) -> Option<(Drawing, String)> {
    if order.is_empty() {
        return None;
    }
    let in_turn: Vec<Vec<u32>> = order.chunks(ABREAST).map(<[u32]>::to_vec).collect();
    let rows = if rows.is_empty() { &in_turn } else { rows };
    let abreast = rows.iter().map(Vec::len).max().unwrap_or(0) as f64;
    let mut drawing = Drawing::new(
        "the order of tightening",
        abreast * APART_MM,
        rows.len() as f64 * ROW_MM,
    );
    for (row, numbers) in rows.iter().enumerate() {
        for (column, number) in numbers.iter().enumerate() {
            let Some(turn) = order.iter().position(|other| other == number) else {
                continue;
            };
            let x = APART_MM * (column as f64 + 0.5);
            let y = ROW_MM * row as f64 + RADIUS_MM + 0.8;
            let centre = DVec2::new(x, y);
            drawing.circle(centre, RADIUS_MM, Pen::line(Role::Main, 0.5));
            let turn = (turn + 1).to_string();
            if turn != number.to_string() {
                let under = centre + DVec2::new(0.0, RADIUS_MM + 2.2);
                let own = format!("No. {number}");
                drawing.text(under, own, OWN_MM, Anchor::Middle, Role::Main);
            }
            drawing.bold(centre, turn, TURN_MM, Anchor::Middle, Role::Main);
        }
    }
    let turns: Vec<String> = order.iter().map(u32::to_string).collect();
    Some((
        drawing,
        format!("The order of tightening: {}.", turns.join(", ")),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Item;

    /// Every text with its place.
    fn texts(drawing: &Drawing) -> Vec<(String, DVec2)> {
        let items = drawing.items.iter().filter_map(|item| match item {
            Item::Text { at, text, .. } => Some((text.clone(), *at)),
            _ => None,
        });
        items.collect()
    }

    #[test]
    fn each_fastener_has_its_turn_in_its_own_place() {
        let rows = [vec![3, 1, 0], vec![0, 2, 4]];
        let (drawing, says) = fasteners(&[2, 1, 4, 3], &rows).expect("an order");
        let texts = texts(&drawing);
        let at = |words: &str| {
            let found = texts.iter().find(|(text, _)| text == words);
            found.expect(words).1
        };
        // Fastener 2 comes first, and lies under fastener 1, which comes second.
        assert_eq!(at("1").x, at("2").x);
        assert!(at("1").y > at("2").y);
        assert!(at("4").x < at("2").x && at("4").y == at("2").y);
        assert!(at("3").x > at("1").x && at("3").y == at("1").y);
        assert_eq!(at("No. 2").x, at("1").x);
        assert_eq!(says, "The order of tightening: 2, 1, 4, 3.");
        let rings = drawing.items.iter();
        let rings = rings.filter(|item| matches!(item, Item::Circle { .. }));
        assert_eq!(rings.count(), 4, "nothing is drawn where there is none");
    }

    #[test]
    fn without_places_they_stand_in_their_turn_and_what_has_its_turns_number_has_no_other() {
        let (drawing, _) = fasteners(&[1, 3, 2], &[]).expect("an order");
        let words: Vec<String> = texts(&drawing).into_iter().map(|(text, _)| text).collect();
        assert_eq!(words, ["1", "No. 3", "2", "No. 2", "3"]);
        assert!(fasteners(&[], &[]).is_none());
    }
}
