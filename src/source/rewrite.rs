//! A changed value put back into its builder's own text: comments, order and layout stay, and
//! only what was changed is written anew.
//!
//! Old and new value are both written out plainly and compared value by value; each
//! difference is then made in the builder's text at the same path. The result is read again: should
//! it not say exactly what it must, the whole value is written plainly instead.

use std::ops::Range;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::spans::Spans;
use super::{ron, write};

/// `text` with what `new` has otherwise.
///
/// ```
/// use dotwise::engine::{read, scenes};
/// use dotwise::source;
/// let text = scenes::find("bench_four").expect("a scene").text.replace("bore:", "/* measured twice */ bore:");
/// let mut description = read::engine(&text).description.expect("a description");
/// description.bore = 82.5;
/// let again = source::rewrite(&text, &description).expect("written");
/// assert_eq!(again, text.replace("bore: 82.0", "bore: 82.5"));
/// ```
///
/// # Errors
/// Where the value cannot be written as RON.
pub fn rewrite<T>(text: &str, new: &T) -> Result<String, ron::Error>
where
    T: Serialize + DeserializeOwned + PartialEq,
{
    let plain = write(new)?;
    let (Some(old), _) = ron::<T>(text) else {
        return Ok(plain);
    };
    if old == *new {
        return Ok(text.to_owned());
    }
    let before = Plain::of(write(&old)?);
    let after = Plain::of(plain);
    let mut changes = Changes {
        places: Spans::of(text),
        text,
        made: Vec::new(),
    };
    let patched = changes
        .compare("", &before, &after)
        .map(|()| changes.apply());
    let says_it = |patched: &String| ron::<T>(patched).0.as_ref() == Some(new);
    Ok(patched.filter(says_it).unwrap_or(after.text))
}

/// A value written plainly, and where everything stands in it.
struct Plain {
    text: String,
    places: Spans,
}

impl Plain {
    fn of(text: String) -> Self {
        Self {
            places: Spans::of(&text),
            text,
        }
    }

    fn value(&self, path: &str) -> Option<&str> {
        self.text.get(self.places.exactly(path)?.value.clone())
    }
}

struct Changes<'a> {
    text: &'a str,
    places: Spans,
    made: Vec<(Range<usize>, String)>,
}

impl Changes<'_> {
    /// Notes what must change under `path`. None where the builder's text has no room for it.
    fn compare(&mut self, path: &str, before: &Plain, after: &Plain) -> Option<()> {
        let (old, new) = (before.value(path)?, after.value(path)?);
        if old == new {
            return Some(());
        }
        let (own, others) = (before.places.inside(path), after.places.inside(path));
        let both = |opening: char| old.starts_with(opening) && new.starts_with(opening);
        if both('(') {
            for child in others.iter().filter(|child| !own.contains(child)) {
                self.insert(path, child, after.value(child)?)?;
            }
            for child in own {
                if others.contains(&child) {
                    self.compare(child, before, after)?;
                } else {
                    self.remove(child);
                }
            }
            return Some(());
        }
        let in_text = self
            .places
            .exactly(path)
            .and_then(|spot| self.text.get(spot.value.clone()));
        if both('[') && own.len() == others.len() && in_text.is_some() {
            return own
                .into_iter()
                .try_for_each(|child| self.compare(child, before, after));
        }
        match self.places.exactly(path) {
            Some(spot) => self.made.push((spot.value.clone(), new.to_owned())),
            // A default the builder had left out.
            None => self.insert(
                path.rsplit_once('.').map_or("", |(around, _)| around),
                path,
                new,
            )?,
        }
        Some(())
    }

    /// A new field after the last one inside `around`.
    fn insert(&mut self, around: &str, path: &str, value: &str) -> Option<()> {
        let name = path.rsplit('.').next().unwrap_or(path);
        let whole = self.places.exactly(around)?.value.clone();
        let last = self
            .places
            .inside(around)
            .last()
            .and_then(|last| self.places.exactly(last))
            .cloned();
        let Some(last) = last else {
            self.made
                .push((whole.start + 1..whole.start + 1, format!("{name}: {value}")));
            return Some(());
        };
        let line_start = self.text[..last.name.start]
            .rfind('\n')
            .map_or(0, |newline| newline + 1);
        let indent = &self.text[line_start..last.name.start];
        let on_its_own_line = line_start > 0 && indent.trim().is_empty();
        let before = if on_its_own_line {
            format!(",\n{indent}")
        } else {
            ", ".to_owned()
        };
        self.made.push((
            last.value.end..last.value.end,
            format!("{before}{name}: {value}"),
        ));
        Some(())
    }

    /// A field taken out, with the comma after it and the line, where nothing else is on it.
    fn remove(&mut self, path: &str) {
        let Some(spot) = self.places.exactly(path) else {
            return;
        };
        let (mut start, mut end) = (spot.name.start, spot.value.end);
        let rest = &self.text[end..];
        let gap = rest.len() - rest.trim_start().len();
        if rest[gap..].starts_with(',') {
            end += gap + 1;
        }
        let line_start = self.text[..start]
            .rfind('\n')
            .map_or(0, |newline| newline + 1);
        let line_end = self.text[end..]
            .find('\n')
            .map_or(self.text.len(), |newline| end + newline);
        if self.text[line_start..start].trim().is_empty()
            && self.text[end..line_end].trim().is_empty()
            && line_end < self.text.len()
        {
            (start, end) = (line_start, line_end + 1);
        } else {
            end += self.text[end..].len() - self.text[end..].trim_start_matches(' ').len();
        }
        self.made.push((start..end, String::new()));
    }

    fn apply(mut self) -> String {
        let mut text = self.text.to_owned();
        // From the back, so that no change moves the place of one still to be made; insertions at
        // one place keep their order.
        self.made.reverse();
        self.made
            .sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
        let mut made_from = text.len() + 1;
        for (range, with) in self.made {
            if range.end <= made_from {
                made_from = range.start;
                text.replace_range(range, &with);
            }
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::description::Description;
    use crate::description::{Bank, Clearance, Coupling, DriveKind, Helix, Mark, MarkOn};
    use crate::engine::read;
    use crate::engine::scenes::SCENES;
    use crate::words::Units;

    const COMMENTED: &str = r#"// The shed's own engine.
(
    format: 1, name: "Shed four", // not for sale
    crankshaft: (stroke: 80.0, throws: [
        (angle: 0.0, cylinders: [1]), (angle: 180.0, cylinders: [2]), // the middle two
        (angle: 180.0, cylinders: [3]), (angle: 0.0, cylinders: [4]),
    ]),
    banks: [(angle: 0.0, cylinders: [1, 2, 3, 4])],
    bore: 82.0, /* after the rebore */
    rod_length: 135.0,
    firing_order: [1, 3, 4, 2],
    cam_drive: (kind: Chain, crank_teeth: 20, cam_teeth: 40),
    valves: (intake: (opens_btdc: 12, closes_abdc: 52, lift: 9.5), exhaust: (opens_bbdc: 52, closes_atdc: 12, lift: 9)),
    ignition: (static_advance: 8.0) // by the book
)
"#;

    fn changed(change: impl Fn(&mut Description)) -> (String, Description) {
        let mut description = read::engine(COMMENTED).description.expect("a description");
        change(&mut description);
        (
            rewrite(COMMENTED, &description).expect("written"),
            description,
        )
    }

    #[test]
    fn a_changed_number_changes_and_every_comment_stays() {
        let (text, _) = changed(|d| d.valves.intake.lift = Some(9.8));
        assert_eq!(text, COMMENTED.replace("lift: 9.5", "lift: 9.8"));
        let (text, _) = changed(|d| d.crankshaft.throws[1].angle = 90.0);
        assert_eq!(text, COMMENTED.replacen("angle: 180.0", "angle: 90.0", 1));
    }

    #[test]
    fn a_default_left_out_and_a_part_left_out_find_their_place() {
        let (text, description) = changed(|d| {
            d.units = Units::Inches;
            d.pin_offset = Some(0.5);
            d.pulley_diameter = Some(6.0);
            d.clearance = Some(Clearance {
                intake_drop: 0.2,
                exhaust_drop: 0.2,
                valve_angle: None,
                valves_touch_at: None,
            });
            d.cam_drive.backlash = Some(0.002);
        });
        assert_eq!(read::engine(&text).description, Some(description));
        for comment in [
            "// The shed's own engine.",
            "// not for sale",
            "// the middle two",
            "/* after the rebore */",
            "// by the book",
        ] {
            assert!(text.contains(comment), "{comment} is gone:\n{text}");
        }
        assert!(text.contains("cam_teeth: 40, backlash: 0.002)"), "{text}");
    }

    #[test]
    fn what_is_taken_out_goes_with_its_comma_and_nothing_else() {
        let text = COMMENTED.replace("    rod_length", "    pin_offset: 1.0,\n    rod_length");
        let mut description = read::engine(&text).description.expect("a description");
        description.pin_offset = None;
        assert_eq!(rewrite(&text, &description).expect("written"), COMMENTED);
    }

    #[test]
    fn an_unchanged_description_leaves_the_text_as_it_was() {
        assert_eq!(changed(|_| ()).0, COMMENTED);
    }

    #[test]
    fn a_text_that_cannot_be_read_is_written_plainly() {
        let description = SCENES[0].engine().written().clone();
        assert_eq!(
            rewrite("(format: 1,", &description).expect("written"),
            write(&description).expect("written")
        );
    }

    #[test]
    fn whatever_is_changed_in_any_scene_the_text_says_it_afterwards() {
        let changes: [fn(&mut Description); 9] = [
            |d| d.name = "Another \"name\", (with brackets]".into(),
            |d| d.notes = String::new(),
            |d| d.firing_angles = Some(vec![1.0, 2.0]),
            |d| {
                d.banks.push(Bank {
                    angle: 3.0,
                    cylinders: vec![9],
                });
            },
            |d| d.cam_drive.kind = DriveKind::Belt,
            |d| d.distributor = None,
            |d| {
                if let Some(distributor) = &mut d.distributor {
                    distributor.coupling = Some(Coupling::CentralTongue);
                    distributor.turns_on_entry = None;
                    distributor.helix = Some(Helix {
                        angle: 40.0,
                        hand: crate::description::Hand::Left,
                        travel: 9.0,
                        pitch_diameter: 25.0,
                    });
                    distributor.offset = Some(3.0);
                }
            },
            |d| {
                d.marks = vec![Mark {
                    on: MarkOn::Idler(1),
                    name: "dot".into(),
                    at: 1.0,
                    pointer_at: None,
                }];
            },
            |d| {
                d.ignition.vacuum.clear();
                d.ignition.centrifugal.truncate(1);
                d.pulley_diameter = None;
                d.clearance = None;
            },
        ];
        for scene in &SCENES {
            for (index, change) in changes.iter().enumerate() {
                let mut description = scene.engine().written().clone();
                change(&mut description);
                let text = rewrite(scene.text, &description).expect("written");
                assert_eq!(
                    ron::<Description>(&text).0.as_ref(),
                    Some(&description),
                    "{} change {index}:\n{text}",
                    scene.name
                );
            }
        }
    }
}
