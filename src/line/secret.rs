//! A password or key, read from a file that the settings name.
//!
//! The settings never hold a secret, and nothing here prints one: not `Debug`, not an error. It is
//! read when it is needed, so that a changed file counts from the next try.

use std::fmt;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

/// No password or key is longer; a larger file is the wrong file.
pub const SECRET_CAP: usize = 4096;

/// Text that must not be shown.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// The secret itself. Only for the wire.
    pub fn expose(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(not shown)")
    }
}

/// Reads the secret called `name`: first from `credentials`, the folder that systemd's
/// `LoadCredential=` fills, under its file name alone; then beside the settings, under `base`.
/// One line break at the end is not part of it.
pub fn read(base: &Path, credentials: Option<&Path>, name: &str) -> Result<Secret, String> {
    read_file(&place(base, credentials, name))
}

/// Where the secret called `name` lies.
pub fn place(base: &Path, credentials: Option<&Path>, name: &str) -> PathBuf {
    credentials
        .and_then(|folder| Some(folder.join(Path::new(name).file_name()?)))
        .filter(|place| place.is_file())
        .unwrap_or_else(|| base.join(name))
}

fn read_file(place: &PathBuf) -> Result<Secret, String> {
    let shown = place.display();
    let mut file = File::open(place).map_err(|error| cannot_read(place, &error))?;
    let mut bytes = Vec::new();
    file.by_ref()
        .take(SECRET_CAP as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| cannot_read(place, &error))?;
    if bytes.len() > SECRET_CAP {
        return Err(format!(
            "{shown} is larger than {SECRET_CAP} bytes, so it is no secret file; \
             it should hold the password or key alone"
        ));
    }
    let mut text = String::from_utf8(bytes).map_err(|_| {
        format!("{shown} is not plain text; it should hold the password or key alone, in UTF-8")
    })?;
    if text.ends_with('\n') {
        text.pop();
        if text.ends_with('\r') {
            text.pop();
        }
    }
    if text.is_empty() {
        return Err(format!("{shown} is empty; write the password or key into it"));
    }
    Ok(Secret(text))
}

fn cannot_read(place: &Path, error: &std::io::Error) -> String {
    let shown = place.display();
    if error.kind() == ErrorKind::NotFound {
        format!(
            "there is no {shown}; make that file with the password or key in it, \
             readable by the account that runs lowbell alone"
        )
    } else if error.kind() == ErrorKind::PermissionDenied {
        format!(
            "{shown} may not be read; give it to the account that runs lowbell (chown, then chmod 600)"
        )
    } else {
        format!("{shown} cannot be read: {error}; check that it is a plain file")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_line_break_at_the_end_is_not_part_of_the_secret() {
        let farm = tempfile::tempdir().unwrap();
        for (written, meant) in [
            ("bell", "bell"),
            ("bell\n", "bell"),
            ("bell\r\n", "bell"),
            ("bell\n\n", "bell\n"),
            (" bell ", " bell "),
        ] {
            std::fs::write(farm.path().join("mail.secret"), written).unwrap();
            let secret = read(farm.path(), None, "mail.secret").unwrap();
            assert_eq!(secret.expose(), meant, "{written:?}");
        }
    }

    #[test]
    fn nothing_of_a_secret_is_printed() {
        let secret = Secret::new("bellwether");
        assert_eq!(format!("{secret:?}"), "Secret(not shown)");
        assert_eq!(format!("{:?}", Some(&secret)), "Some(Secret(not shown))");
    }

    #[test]
    fn the_credentials_folder_goes_before_the_file_beside_the_settings() {
        let farm = tempfile::tempdir().unwrap();
        let given = tempfile::tempdir().unwrap();
        std::fs::create_dir(farm.path().join("secrets")).unwrap();
        std::fs::write(farm.path().join("secrets/mail.secret"), "beside").unwrap();
        let from = |credentials| {
            let secret = read(farm.path(), credentials, "secrets/mail.secret").unwrap();
            secret.expose().to_owned()
        };
        assert_eq!(from(None), "beside");
        assert_eq!(from(Some(given.path())), "beside");
        std::fs::write(given.path().join("mail.secret"), "given").unwrap();
        assert_eq!(from(Some(given.path())), "given");
    }

    #[test]
    fn a_secret_that_cannot_be_used_is_refused_with_its_place_and_a_way_out() {
        let farm = tempfile::tempdir().unwrap();
        let place = farm.path().join("mail.secret");
        let fault = || read(farm.path(), None, "mail.secret").unwrap_err();
        let shown = place.display();
        assert_eq!(
            fault(),
            format!(
                "there is no {shown}; make that file with the password or key in it, \
                 readable by the account that runs lowbell alone"
            )
        );
        std::fs::write(&place, "\n").unwrap();
        assert_eq!(fault(), format!("{shown} is empty; write the password or key into it"));
        std::fs::write(&place, [0xff, 0xfe]).unwrap();
        assert_eq!(
            fault(),
            format!(
                "{shown} is not plain text; it should hold the password or key alone, in UTF-8"
            )
        );
        std::fs::write(&place, "a".repeat(SECRET_CAP)).unwrap();
        assert!(read(farm.path(), None, "mail.secret").is_ok());
        std::fs::write(&place, "a".repeat(SECRET_CAP + 1)).unwrap();
        assert_eq!(
            fault(),
            format!(
                "{shown} is larger than 4096 bytes, so it is no secret file; \
                 it should hold the password or key alone"
            )
        );
    }
}
