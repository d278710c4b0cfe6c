//! The rows of cylinders.

use super::walk::part;

part! {
    /// A row of cylinders.
    pub struct Bank {
        /// The cylinders' axis in clock degrees seen from the front; 0 is straight up.
        pub angle: f64,
        /// Its cylinders.
        pub cylinders: Vec<u32>,
    }
}
