use super::*;

#[test]
fn a_file_is_replaced_and_nothing_stays_beside_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a/b/file");
    for text in ["one", "two"] {
        write_whole(&file, text.as_bytes()).expect("written");
        assert_eq!(fs::read_to_string(&file).expect("read"), text);
    }
    assert_eq!(fs::read_dir(parent(&file)).expect("a folder").count(), 1);
}

#[cfg(unix)]
#[test]
fn only_an_ordinary_file_is_replaced() {
    use std::os::unix::fs::{FileTypeExt, symlink};
    let folder = tempfile::tempdir().expect("a folder");
    let (pipe, socket, link) = (folder.path().join("pipe"), folder.path().join("socket"), folder.path().join("link"));
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.expect("mkfifo").success());
    let _listener = std::os::unix::net::UnixListener::bind(&socket).expect("a socket");
    symlink(&pipe, &link).expect("a link");
    for file in [&pipe, &socket, &link, &folder.path().to_owned()] {
        assert!(write_whole(file, b"x").is_err(), "{}", file.display());
        assert!(check_file(file).is_err(), "{}", file.display());
    }
    let kind = |file: &Path| fs::symlink_metadata(file).expect("still there").file_type();
    assert!(kind(&pipe).is_fifo() && kind(&socket).is_socket() && kind(&link).is_symlink());
    // a link to a file: the link is replaced, and the user may not name one
    let (file, link) = (folder.path().join("file"), folder.path().join("to-file"));
    fs::write(&file, "mine").expect("written");
    symlink(&file, &link).expect("a link");
    assert!(check_file(&link).is_err());
    write_whole(&link, b"new").expect("written");
    assert!(!kind(&link).is_symlink());
    assert_eq!(fs::read_to_string(&file).expect("read"), "mine");
}

#[test]
fn what_killed_runs_left_is_swept_and_what_is_held_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    for name in [".decant-left.tmp", ".decant-held.tmp", ".decant-notes", "mine.tmp"] {
        fs::write(at(name), "x").expect("written");
    }
    let held = File::open(at(".decant-held.tmp")).expect("open");
    held.lock().expect("locked");
    write_whole(&at("new"), b"x").expect("written");
    let there = |name: &str| at(name).exists();
    assert!(!there(".decant-left.tmp"));
    assert!(there(".decant-held.tmp") && there(".decant-notes") && there("mine.tmp") && there("new"));
}

#[test]
fn a_name_that_cannot_be_written_is_told_beforehand() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("file");
    fs::write(&file, "x").expect("written");
    assert!(check_folder(&folder.path().join("new/newer")).is_ok());
    assert!(check_file(&folder.path().join("new/newer/x.pdf")).is_ok());
    for bad in [file.clone(), file.join("below"), file.join("below/further")] {
        let reported = check_folder(&bad).expect_err("it is a file").to_string();
        assert!(reported.contains("is a file, not a folder"), "{reported}");
    }
    assert!(check_file(Path::new("-")).is_err());
    assert!(check_file(&file).is_ok());
}
