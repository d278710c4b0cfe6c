//! Writing a file: whole or not at all, and never over another unless asked to.
//!
//! The bytes go to a temporary file beside the one that is wanted, which is then moved into its
//! place: a full disk, a signal or a pulled plug leaves what was there before.
//!
//! - A link is written through: what it leads to is replaced, and the link stays. One that leads
//!   nowhere is refused.
//! - A pipe or a device is written to as it is.
//! - Rights and owner are kept. A file that may not be written to is refused though its folder
//!   would let it be replaced; so is one that a new file cannot stand in for: one with several
//!   names (hard links), or of an owner that cannot be given to a new file.

mod beside;

use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use super::error::Error;
use beside::Beside;

/// Writes `bytes` to `path`.
///
/// # Errors
/// [`Error::Exists`] where something is there and `replace` is false; another where it cannot
/// stand there whole. The file that was there, if any, is then as it was.
pub fn whole(path: &Path, bytes: &[u8], replace: bool) -> Result<(), Error> {
    let failed = |error| Error::NotWritten(path.to_path_buf(), error);
    let there = match path.symlink_metadata() {
        Ok(_) if !replace => return Err(Error::Exists(path.to_path_buf())),
        Ok(itself) => Some(led_to(path, &itself)?),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(failed(error)),
    };
    let target = match &there {
        Some(there) if there.is_dir() => return Err(Error::Folder(path.to_path_buf())),
        Some(there) if !there.is_file() => {
            let mut stream = OpenOptions::new().write(true).open(path).map_err(failed)?;
            return stream.write_all(bytes).map_err(failed);
        }
        Some(there) => {
            may_be_replaced(path, there)?;
            path.canonicalize().map_err(failed)?
        }
        None => path.to_path_buf(),
    };
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let about = folder.metadata();
    let about = about.map_err(|error| Error::NoFolder(path.to_path_buf(), folder.into(), error))?;
    if is_read_only(&about) {
        return Err(Error::FolderReadOnly(path.to_path_buf(), folder.into()));
    }
    let beside = Beside::new(folder).map_err(failed)?;
    (beside.file().write_all(bytes)).map_err(failed)?;
    if let Some(there) = &there {
        keep_owner_and_rights(path, beside.file(), there)?;
    }
    beside.file().sync_all().map_err(failed)?;
    match beside.persist(&target, replace) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            Err(Error::Exists(path.to_path_buf()))
        }
        persisted => persisted.map_err(failed),
    }
}

/// What stands at the end of a path, through all links.
fn led_to(path: &Path, itself: &Metadata) -> Result<Metadata, Error> {
    path.metadata().map_err(|error| {
        let next = path.read_link();
        match next.ok().filter(|_| itself.is_symlink()) {
            Some(next) => Error::LeadsNowhere(path.to_path_buf(), next),
            None => Error::NotWritten(path.to_path_buf(), error),
        }
    })
}

/// Refuses a file that may not be written to, or that another file cannot stand in for.
fn may_be_replaced(path: &Path, there: &Metadata) -> Result<(), Error> {
    if is_read_only(there) {
        return Err(Error::ReadOnly(path.to_path_buf()));
    }
    // Asked of the system too: the file may be another's, or its file system may be read-only.
    if let Err(error) = OpenOptions::new().write(true).open(path) {
        return Err(match error.kind() {
            io::ErrorKind::PermissionDenied => Error::ReadOnly(path.to_path_buf()),
            _ => Error::NotWritten(path.to_path_buf(), error),
        });
    }
    match names(there) {
        0 | 1 => Ok(()),
        names => Err(Error::SeveralNames(path.to_path_buf(), names)),
    }
}

/// Whether its own owner may not write to it. The system lets some write regardless, who had
/// better not.
#[cfg(unix)]
fn is_read_only(about: &Metadata) -> bool {
    use std::os::unix::fs::PermissionsExt as _;
    about.permissions().mode() & 0o200 == 0
}

#[cfg(not(unix))]
fn is_read_only(about: &Metadata) -> bool {
    about.is_file() && about.permissions().readonly()
}

#[cfg(unix)]
fn names(there: &Metadata) -> u64 {
    use std::os::unix::fs::MetadataExt as _;
    there.nlink()
}

#[cfg(not(unix))]
fn names(_there: &Metadata) -> u64 {
    1
}

/// The new file's owner and rights become those of the file it replaces.
#[cfg(unix)]
fn keep_owner_and_rights(path: &Path, file: &File, there: &Metadata) -> Result<(), Error> {
    use std::os::unix::fs::{MetadataExt as _, fchown};
    let failed = |error| Error::NotWritten(path.to_path_buf(), error);
    let new = file.metadata().map_err(failed)?;
    let differs = |new: u32, there: u32| (new != there).then_some(there);
    let (user, group) = (
        differs(new.uid(), there.uid()),
        differs(new.gid(), there.gid()),
    );
    if user.or(group).is_some() {
        fchown(file, user, group).map_err(|_| Error::OtherOwner(path.to_path_buf()))?;
    }
    // After the owner: a change of owner takes some rights away.
    file.set_permissions(there.permissions()).map_err(failed)
}

#[cfg(not(unix))]
fn keep_owner_and_rights(_path: &Path, _file: &File, _there: &Metadata) -> Result<(), Error> {
    Ok(())
}
