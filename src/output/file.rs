//! Writing a file: whole or not at all, and never over another unless asked to.
//!
//! The bytes go to a temporary file beside the one that is wanted, which is then moved into its
//! place: a full disk or a pulled plug leaves what was there before.

use std::io::{self, Write};
use std::path::Path;

use super::error::Error;

/// Writes `bytes` to `path`.
///
/// # Errors
/// [`Error::Exists`] where the file is there and `replace` is false; [`Error::NotWritten`]
/// where the system would not. The file that was there, if any, is then as it was.
pub fn whole(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Error> {
    let failed = |error| Error::NotWritten(path.to_path_buf(), error);
    if !replace && path.symlink_metadata().is_ok() {
        return Err(Error::Exists(path.to_path_buf()));
    }
    // A link is written through: what it leads to is replaced, and the link stays.
    let target = if replace {
        path.canonicalize().unwrap_or_else(|_| path.to_path_buf())
    } else {
        path.to_path_buf()
    };
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut file = tempfile::Builder::new()
        .prefix(".dotwise-")
        .tempfile_in(folder)
        .map_err(failed)?;
    file.write_all(bytes)
        .and_then(|()| file.as_file().sync_all())
        .map_err(failed)?;
    allow_others_to_read(&file, &target).map_err(failed)?;
    let persisted = if replace {
        file.persist(&target)
    } else {
        file.persist_noclobber(&target)
    };
    match persisted {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => {
            Err(Error::Exists(path.to_path_buf()))
        }
        Err(error) => Err(failed(error.error)),
    }
}

/// A temporary file is for its owner alone; a written one has the rights of the file it replaces,
/// or those a new file gets.
#[cfg(unix)]
fn allow_others_to_read(file: &tempfile::NamedTempFile, target: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = match target.metadata() {
        Ok(there) => there.permissions().mode() & 0o777,
        // Rights that others get for a new file are asked of a new file: the mask itself cannot be
        // read without changing it.
        Err(_) => {
            let mut probe = tempfile::Builder::new();
            probe
                .prefix(".dotwise-")
                .permissions(std::fs::Permissions::from_mode(0o666));
            let probe = probe.tempfile_in(
                target
                    .parent()
                    .filter(|folder| !folder.as_os_str().is_empty())
                    .unwrap_or(Path::new(".")),
            )?;
            probe.as_file().metadata()?.permissions().mode() & 0o777
        }
    };
    file.as_file()
        .set_permissions(std::fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn allow_others_to_read(_file: &tempfile::NamedTempFile, _target: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_is_there_is_left_alone_unless_it_may_be_replaced() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("sheet.svg");
        whole(&path, b"first", false).expect("written");
        let refused = whole(&path, b"second", false).expect_err("refused");
        assert!(
            matches!(&refused, Error::Exists(there) if *there == path),
            "{refused}"
        );
        assert_eq!(std::fs::read(&path).expect("read"), b"first");
        whole(&path, b"second", true).expect("replaced");
        assert_eq!(std::fs::read(&path).expect("read"), b"second");
    }

    #[test]
    fn what_cannot_be_written_leaves_nothing_behind() {
        let folder = tempfile::tempdir().expect("a folder");
        let nowhere = folder.path().join("not there").join("sheet.svg");
        assert!(matches!(
            whole(&nowhere, b"x", false),
            Err(Error::NotWritten(..))
        ));
        // A folder cannot be replaced by a file.
        assert!(whole(folder.path(), b"x", true).is_err());
        assert_eq!(std::fs::read_dir(folder.path()).expect("listed").count(), 0);
    }

    #[cfg(unix)]
    #[test]
    fn a_replaced_file_keeps_its_rights_and_a_link_stays_a_link() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().expect("a folder");
        let (path, link) = (folder.path().join("real"), folder.path().join("link"));
        std::fs::write(&path, b"first").expect("written");
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).expect("set");
        std::os::unix::fs::symlink(&path, &link).expect("linked");
        whole(&link, b"second", true).expect("replaced");
        assert!(
            link.symlink_metadata()
                .expect("there")
                .file_type()
                .is_symlink()
        );
        assert_eq!(std::fs::read(&path).expect("read"), b"second");
        assert_eq!(
            path.metadata().expect("there").permissions().mode() & 0o777,
            0o640
        );
    }
}
