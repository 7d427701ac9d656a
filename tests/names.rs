//! One name for one thing: no type name is defined twice, and each file opens with a line that says what is in it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Names that a library asks for: clap's arguments of each command, and types that belong to a trait.
const BY_CUSTOM: [&str; 5] = ["Args", "Err", "Item", "Output", "Target"];

/// Every source file of the program with its text.
fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, files: &mut Vec<(PathBuf, String)>) {
        for entry in fs::read_dir(folder).expect("src can be read") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, files);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = fs::read_to_string(&path).expect("a source file");
                files.push((path, text));
            }
        }
    }
    let mut files = Vec::new();
    walk(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        &mut files,
    );
    files
}

/// The type that a line defines.
fn defined(line: &str) -> Option<&str> {
    let line = line.trim_start();
    let line = match line.strip_prefix("pub") {
        Some(rest) => rest.strip_prefix('(').map_or(rest, |scope| {
            scope.split_once(')').map_or(rest, |(_, rest)| rest)
        }),
        None => line,
    };
    let words = ["struct ", "enum ", "trait ", "type ", "union "];
    let name = words
        .iter()
        .find_map(|w| line.trim_start().strip_prefix(w))?;
    let end = name
        .find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(name.len());
    Some(&name[..end])
}

#[test]
fn no_type_name_stands_for_two_things() {
    let sources = sources();
    let mut places: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (path, text) in &sources {
        for (n, line) in text.lines().enumerate() {
            if let Some(name) = defined(line).filter(|name| !BY_CUSTOM.contains(name)) {
                let place = format!("{}:{}", path.display(), n + 1);
                places.entry(name).or_default().push(place);
            }
        }
    }
    assert!(places.len() > 200, "{} types found", places.len());
    places.retain(|_, places| places.len() > 1);
    assert!(places.is_empty(), "{places:#?}");
}

#[test]
fn every_file_opens_with_what_is_in_it() {
    let silent: Vec<PathBuf> = sources()
        .into_iter()
        .filter(|(_, text)| !text.starts_with("//! "))
        .map(|(path, _)| path)
        .collect();
    assert!(silent.is_empty(), "{silent:#?}");
}

#[test]
fn definitions_are_told_from_uses() {
    assert_eq!(defined("pub(super) struct Row<'a> {"), Some("Row"));
    assert_eq!(defined("    enum Side;"), Some("Side"));
    assert_eq!(defined("pub type Bar = u8;"), Some("Bar"));
    assert_eq!(defined("let structure = 1;"), None);
    assert_eq!(defined("// struct Row"), None);
}
