//! The lessons in `samples`: every command in them works, and what they quote is what the program says.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::support::workspace::{read, root, temporary};

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder can be made");
    for entry in fs::read_dir(from).expect("the samples can be listed") {
        let path = entry.expect("a sample").path();
        let into = to.join(path.file_name().unwrap_or_default());
        if path.is_dir() {
            copy(&path, &into);
        } else {
            fs::copy(&path, &into).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        }
    }
}

/// Runs a line as a reader would, and gives what it printed; `# ends with 3` behind it names its exit code.
fn run(folder: &Path, line: &str) -> String {
    let wanted = line.rsplit_once("# ends with ").map_or(0, |(_, code)| code.trim().parse().expect("an exit code"));
    let program = Path::new(env!("CARGO_BIN_EXE_decant")).parent().expect("a folder");
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap_or_default());
    let output =
        Command::new("sh").arg("-c").arg(line).current_dir(folder).env("PATH", path).output().expect("a shell");
    let text = [output.stdout, output.stderr].map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).concat();
    assert_eq!(output.status.code(), Some(wanted), "{line}\n{text}");
    text
}

/// Runs the blocks of commands of a lesson in its folder; a block of text behind one must stand in what the commands so far printed.
fn follow(lesson: &Path, folder: &Path) -> usize {
    let (mut commands, mut printed) = (0, String::new());
    let text = read(lesson);
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let block: Vec<&str> = match line {
            "```sh" | "```text" => lines.by_ref().take_while(|line| *line != "```").collect(),
            _ => continue,
        };
        if line == "```sh" {
            commands += block.len();
            block.iter().for_each(|command| printed += &run(folder, command));
        } else {
            let quoted = block.join("\n");
            // a terminal folds long lines
            let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(
                flat(&printed).contains(&flat(&quoted)),
                "{} quotes\n{quoted}\nand its commands print\n{printed}",
                lesson.display()
            );
        }
    }
    commands
}

#[test]
fn every_command_of_every_lesson_works() {
    let samples = root().join("samples");
    let listed = read(samples.join("README.md"));
    let scratch = temporary();
    copy(&samples, scratch.path());
    let mut lessons = 0;
    for entry in fs::read_dir(&samples).expect("the samples can be listed") {
        let folder = entry.expect("a sample").path();
        let lesson = folder.join("README.md");
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if !lesson.is_file() || name == "engines" {
            continue;
        }
        assert!(listed.contains(&format!("({name}/README.md)")), "the list of lessons lacks {name}");
        assert!(follow(&lesson, &scratch.path().join(&name)) >= 2, "{name} has no commands");
        lessons += 1;
    }
    assert!(lessons >= 6, "only {lessons} lessons");
}
