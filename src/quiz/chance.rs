//! Chance that is the same in every language: the handout's script draws the same numbers.
//!
//! xorshift over 32 bits (Marsaglia, Xorshift RNGs, 2003), begun from a text by FNV-1a. The same
//! stands in `output/handout/page.js`.

/// A row of numbers that look like chance, and are the same for the same beginning.
#[derive(Clone, Debug)]
pub struct Chance(u32);

impl Chance {
    /// Begun from a number.
    pub fn with_seed(seed: u64) -> Self {
        Self::of(&seed.to_le_bytes())
    }

    /// Begun from a code. Only its letters and figures count, and large letters are as small ones:
    /// it is told by voice, and typed on phones.
    pub fn by_code(code: &str) -> Self {
        let letters = code.bytes().filter(u8::is_ascii_alphanumeric);
        let letters: Vec<u8> = letters.map(|letter| letter.to_ascii_uppercase()).collect();
        Self::of(&letters)
    }

    fn of(bytes: &[u8]) -> Self {
        let mixed = bytes.iter().fold(0x811c_9dc5_u32, |hash, byte| {
            (hash ^ u32::from(*byte)).wrapping_mul(0x0100_0193)
        });
        // Zero would stay zero.
        let mut chance = Self(mixed.max(1));
        // Codes that differ little part within a few steps.
        (0..8).for_each(|_| {
            chance.next();
        });
        chance
    }

    fn next(&mut self) -> u32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        self.0
    }

    /// A number under `many`; 0 where that is 0.
    pub fn below(&mut self, many: usize) -> usize {
        match u32::try_from(many) {
            Ok(many @ 1..) => (self.next() % many) as usize,
            _ => 0,
        }
    }

    /// Yes or no.
    pub fn flip(&mut self) -> bool {
        self.below(2) == 1
    }

    /// One of these; None where there is none, and then no number is drawn.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        if from.is_empty() {
            return None;
        }
        from.get(self.below(from.len())).copied()
    }

    /// Puts these in another order.
    pub fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            all.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_told_by_its_letters_and_figures_alone() {
        let first = |code| Chance::by_code(code).next();
        assert_eq!(first("Club 12"), first("club12"));
        assert_ne!(first("club12"), first("club13"));
        assert_eq!(first(""), first(" - "));
    }

    #[test]
    fn every_number_comes_up_about_as_often_as_every_other() {
        let mut chance = Chance::with_seed(1);
        let mut counts = [0; 7];
        (0..7000).for_each(|_| counts[chance.below(7)] += 1);
        assert!(
            counts.iter().all(|count| (850..1150).contains(count)),
            "{counts:?}"
        );
    }

    #[test]
    fn what_is_shuffled_is_all_there_and_in_another_order() {
        let mut all: Vec<u32> = (0..50).collect();
        Chance::with_seed(1).shuffle(&mut all);
        assert_ne!(all, (0..50).collect::<Vec<_>>());
        all.sort_unstable();
        assert_eq!(all, (0..50).collect::<Vec<_>>());
    }
}
