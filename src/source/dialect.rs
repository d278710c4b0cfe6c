//! The RON of every file here: optional fields are written plain, without `Some`.

use ron::extensions::Extensions;
use serde::Serialize;

/// How RON is read and written here.
pub(crate) fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Writes a value as RON, to be read again as the same.
///
/// # Errors
/// Where a value cannot be written; nothing that [`ron`](super::ron()) gave has such.
pub fn write<T: Serialize>(value: &T) -> Result<String, ron::Error> {
    let pretty = ron::ser::PrettyConfig::new()
        .depth_limit(3)
        .indentor("    ")
        .struct_names(false);
    options()
        .to_string_pretty(value, pretty)
        .map(|text| text + "\n")
}
