//! `dotwise completions`: what a shell needs to complete the words of the program.

use clap_complete::Shell;

use super::answer::Answer;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The shell. For bash, `source <(dotwise completions bash)` takes the words up at once.
    #[arg(value_name = "SHELL")]
    shell: Shell,
}

impl Args {
    /// The script for completing the words of `line`.
    pub(super) fn run(&self, mut line: clap::Command) -> Answer {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut line, "dotwise", &mut script);
        Answer::file(script)
    }
}
