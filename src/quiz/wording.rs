//! How each question is asked. The handout's script asks in these words too: what stands in braces is
//! put in by whoever asks.

/// Where one cylinder is on compression.
pub(crate) const ON_COMPRESSION: &str = "Which cylinder is on its compression stroke?";
/// Where several are.
pub(crate) const ONE_ON_COMPRESSION: &str = "Name a cylinder that is on its compression stroke.";
/// Of one cylinder.
pub(crate) const STROKE_OF: &str = "Which stroke is No. {cylinder} on?";
/// With the crank so far before or past a firing TDC.
pub(crate) const ROTOR_POINTS: &str =
    "The crank is {crank} No. 1's firing TDC. Which cylinder's lead does the rotor point at?";
/// Of one cylinder.
pub(crate) const FIRING_OR_OVERLAP: &str =
    "No. {cylinder} stands at top dead centre. Which one is it?";
/// Of an engine on which `{parts}` can be looked at.
pub(crate) const WHAT_IS_WRONG: &str = "Someone put this one together, perhaps with a mistake. Turn it to No. 1's firing TDC, look at {parts}, and say what is wrong.";
