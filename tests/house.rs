//! The rooms of the house stand one above the other, and no two files know each other: read from
//! the `crate::` and `super::` paths of the sources, tests and comments left out.
#![allow(clippy::expect_used, reason = "a test may stop")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// The rooms of `src/`; each may use only those before it.
const ROOMS: [&str; 17] = [
    "angle",
    "words",
    "history",
    "source",
    "description",
    "laws",
    "engine",
    "phasing",
    "diagnosis",
    "procedures",
    "quiz",
    "geometry",
    "drawing",
    "output",
    "document",
    "window",
    "command",
];

/// The rooms of `src/window/`; each may use only those before it.
const WINDOW_ROOMS: [&str; 7] = [
    "app", "session", "scene", "input", "panes", "lessons", "open",
];

/// Every module of the library with the modules its code names.
fn modules() -> BTreeMap<Vec<String>, BTreeSet<Vec<String>>> {
    let mut texts = BTreeMap::new();
    gather(Path::new("src"), &mut Vec::new(), &mut texts);
    let known: BTreeSet<Vec<String>> = texts.keys().cloned().collect();
    texts
        .iter()
        .map(|(module, text)| (module.clone(), named(module, text, &known)))
        .collect()
}

fn gather(folder: &Path, at: &mut Vec<String>, texts: &mut BTreeMap<Vec<String>, String>) {
    for entry in fs::read_dir(folder).expect("a folder of sources") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().expect("a name").to_string_lossy();
        if path.is_dir() {
            at.push(name.into_owned());
            gather(&path, at, texts);
            at.pop();
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let mut module = at.clone();
            if !["mod", "lib", "main"].contains(&&*name) {
                module.push(name.into_owned());
            }
            let text = fs::read_to_string(&path).expect("a source");
            texts.insert(module, code_of(&text));
        }
    }
}

/// A source without its comments and its tests.
fn code_of(text: &str) -> String {
    let code = text
        .split_once("#[cfg(test)]\nmod ")
        .map_or(text, |(code, _)| code);
    code.lines()
        .map(|line| line.split_once("//").map_or(line, |(code, _)| code))
        .collect::<Vec<_>>()
        .join("\n")
}

/// The modules that `crate::…` and `super::…` lead to, whether alone or in braces, and the children
/// that a file names beyond passing them on.
fn named(module: &[String], text: &str, known: &BTreeSet<Vec<String>>) -> BTreeSet<Vec<String>> {
    let mut found = BTreeSet::new();
    let mut add = |path: Vec<String>| {
        let longest = (1..=path.len())
            .rev()
            .map(|length| path[..length].to_vec())
            .find(|prefix| known.contains(prefix));
        found.extend(longest.filter(|other| other != module));
    };
    for (start, word) in [("crate::", true), ("super::", false)]
        .into_iter()
        .flat_map(|(word, whole)| text.match_indices(word).map(move |(at, _)| (at, whole)))
    {
        let before = text[..start].chars().next_back();
        if before.is_some_and(|letter| letter.is_alphanumeric() || "_:".contains(letter)) {
            continue;
        }
        let mut base = if word { Vec::new() } else { module.to_vec() };
        let mut rest = &text[start..];
        if word {
            rest = &rest["crate::".len()..];
        }
        while let Some(after) = rest.strip_prefix("super::") {
            base.pop();
            rest = after;
        }
        leaves(rest, &base, &mut add);
    }
    for child in known.iter().filter(|other| {
        other
            .split_last()
            .is_some_and(|(_, parent)| parent == module)
    }) {
        let name = &child[child.len() - 1];
        let used = text.lines().any(|line| {
            let line = line.trim();
            line.contains(&format!("{name}::"))
                && !line.starts_with("pub use")
                && !line.contains("::mod")
        });
        if used && !module.is_empty() {
            add(child.clone());
        }
    }
    found
}

/// Every path of a `use` tree, or of a single path, that begins with `rest`.
fn leaves(rest: &str, base: &[String], add: &mut impl FnMut(Vec<String>)) {
    if let Some(inner) = rest.strip_prefix('{') {
        let mut depth = 1;
        let mut item = 0;
        for (at, letter) in inner.char_indices() {
            match letter {
                '{' => depth += 1,
                '}' => depth -= 1,
                _ => {}
            }
            if depth == 0 || (depth == 1 && letter == ',') {
                leaves(inner[item..at].trim(), base, add);
                item = at + 1;
            }
            if depth == 0 {
                return;
            }
        }
        return;
    }
    let length = rest
        .find(|letter: char| !(letter.is_alphanumeric() || letter == '_'))
        .unwrap_or(rest.len());
    let mut path = base.to_vec();
    path.push(rest[..length].to_owned());
    match rest[length..].strip_prefix("::") {
        Some(after) => leaves(after, &path, add),
        None => add(path),
    }
}

/// Every use that goes up in this list of rooms, which lie `depth` names deep.
fn going_up(rooms: &[&str], under: &[&str]) -> Vec<String> {
    let floor = |module: &[String]| {
        let inside = module.len() > under.len() && module[..under.len()] == *under;
        inside.then(|| rooms.iter().position(|room| *room == module[under.len()]))?
    };
    let mut up = Vec::new();
    for (module, uses) in modules() {
        for other in uses {
            if let (Some(own), Some(its)) = (floor(&module), floor(&other))
                && its > own
            {
                up.push(format!("{} uses {}", module.join("::"), other.join("::")));
            }
        }
    }
    up
}

#[test]
fn every_room_uses_only_rooms_before_it() {
    assert_eq!(going_up(&ROOMS, &[]), Vec::<String>::new());
}

#[test]
fn every_room_of_the_window_uses_only_rooms_before_it() {
    assert_eq!(going_up(&WINDOW_ROOMS, &["window"]), Vec::<String>::new());
}

#[test]
fn every_room_has_its_place_in_the_order() {
    for (module, _) in modules() {
        if let Some(room) = module.first() {
            assert!(ROOMS.contains(&&**room), "{room} has no place");
        }
    }
}

#[test]
fn only_the_window_and_the_commands_that_open_it_know_bevy_or_egui() {
    let mut texts = BTreeMap::new();
    gather(Path::new("src"), &mut Vec::new(), &mut texts);
    for (module, text) in texts {
        let knows = ["bevy::", "bevy_egui::", "egui::"]
            .iter()
            .any(|name| text.contains(&format!("use {name}")));
        assert!(
            !knows || module.first().is_some_and(|room| room == "window"),
            "{} knows bevy or egui",
            module.join("::")
        );
    }
}

#[test]
fn no_file_knows_a_file_that_knows_it_in_turn() {
    let graph = modules();
    let mut circles = BTreeSet::new();
    for start in graph.keys() {
        // What can be reached from here, and whether here can be reached from that.
        let mut reached = BTreeSet::new();
        let mut open: Vec<&Vec<String>> = graph[start].iter().collect();
        while let Some(module) = open.pop() {
            if reached.insert(module.clone()) {
                open.extend(graph.get(module).into_iter().flatten());
            }
        }
        if reached.contains(start) {
            circles.insert(start.join("::"));
        }
    }
    assert_eq!(circles, BTreeSet::new());
}

/// Mesa's software Vulkan (seen in 22.3) writes a shader anew for each value of a uniform that a
/// branch asks for, in every frame, and keeps them all: a megabyte a frame.
#[test]
fn no_shader_branches_on_a_uniform() {
    let scene = fs::read_dir("src/window/scene").expect("a folder of sources");
    let paths = scene.map(|entry| entry.expect("an entry").path());
    let mut uniforms_found = 0;
    for path in paths.filter(|path| path.extension().is_some_and(|ending| ending == "wgsl")) {
        let text = fs::read_to_string(&path).expect("a shader");
        let own = text
            .lines()
            .filter_map(|line| line.split_once("var<uniform> "));
        let own = own.filter_map(|(_, rest)| rest.split(':').next());
        let uniforms: Vec<&str> = own.chain(["view"]).collect();
        uniforms_found += uniforms.len() - 1;
        for line in text.lines().map(str::trim) {
            let branches = ["if ", "} else if ", "while ", "switch "]
                .iter()
                .any(|word| line.starts_with(word));
            let asked = uniforms
                .iter()
                .find(|name| branches && line.contains(&format!("{name}.")));
            assert_eq!(asked, None, "{}: {line}", path.display());
        }
    }
    assert!(uniforms_found > 0, "the shaders were not found");
}

/// The kind of an ELF file, its 17th and 18th byte: 2 is linked at a fixed address, 3 is not.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
#[test]
fn the_program_is_linked_at_a_fixed_address_and_has_nothing_to_put_right_as_it_starts() {
    let program = fs::read(env!("CARGO_BIN_EXE_dotwise")).expect("the program");
    assert_eq!(program[..4], *b"\x7fELF");
    assert_eq!(u16::from_le_bytes([program[16], program[17]]), 2);
}
