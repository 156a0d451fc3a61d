//! `docs/man/` is made from the program's own help, a page for each command.

use clap_mangen::Man;

use crate::{keep, top};

fn pages(command: &clap::Command, name: &str, list: &mut Vec<(String, String)>) {
    // Built commands know their full name.
    let mut page = Vec::new();
    Man::new(command.clone()).render(&mut page).expect("written to memory");
    let page = String::from_utf8(page).expect("text");
    let lines: Vec<&str> = page.lines().map(str::trim_end).collect();
    list.push((format!("{name}.1"), lines.join("\n") + "\n"));
    for sub in command.get_subcommands().filter(|sub| !sub.is_hide_set()) {
        if sub.get_name() != "help" {
            pages(sub, &format!("{name}-{}", sub.get_name()), list);
        }
    }
}

#[test]
fn the_man_pages_are_the_programs_help() {
    let mut root = oddpot::cli::command();
    root.build();
    let mut list = Vec::new();
    pages(&root, "oddpot", &mut list);
    let folder = top().join("docs").join("man");
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, page) in &list {
        keep(&folder.join(name), page);
    }
    for item in std::fs::read_dir(&folder).expect("readable") {
        let name = item.expect("readable").file_name();
        let known = list.iter().any(|(known, _)| **known == *name);
        assert!(known, "docs/man/{} is of no command", name.display());
    }
}
