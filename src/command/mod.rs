//! One file a command.
