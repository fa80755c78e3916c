//! Who may come in, and what they may write and read.
//!
//! Passwords are compared as keyed digests in constant time, so that neither the length nor the
//! first wrong letter shows. What no filter covers is refused. It counts no failures; `roll` does.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex};

use argon2::{Argon2, PasswordHash, PasswordVerifier};
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use tokio::sync::Semaphore;

use crate::config::built_in::{self, NOBODY};
use crate::line::secret;
use crate::sensor::topic::Filter;

/// How a file begins that holds a hash in place of a password (the PHC string format).
const HASHED: &str = "$argon2";

/// One hash at a time: each takes as much memory as its file asks for, and a Pi has little.
const HASHES_AT_ONCE: usize = 1;

/// The filters of one user.
#[derive(Debug, Default)]
pub(super) struct Rules {
    writes: Vec<Filter>,
    reads: Vec<Filter>,
}

/// Somebody who was let in.
#[derive(Clone, Debug)]
pub(super) struct LetIn {
    pub(super) name: Arc<str>,
    pub(super) rules: Arc<Rules>,
}

/// Everybody who may come in.
pub(super) struct Users {
    by_name: BTreeMap<String, User>,
    anonymous: Option<Arc<Rules>>,
    /// Made anew by every process; a digest is worth nothing to another.
    key: [u8; 32],
    hashing: Semaphore,
}

struct User {
    proof: Proof,
    rules: Arc<Rules>,
}

enum Proof {
    /// The digest of the password.
    Digest(Vec<u8>),
    /// What the file holds, and the digest of the password once it was proven: a sensor that comes
    /// back every minute does not cost a hash every minute.
    Hash(String, Mutex<Option<Vec<u8>>>),
}

impl Users {
    /// Reads every user's password file.
    pub(super) fn read(
        built_in: &built_in::BuiltIn,
        base: &Path,
        credentials: Option<&Path>,
    ) -> Result<Self, String> {
        let mut key = [0; 32];
        getrandom::fill(&mut key)
            .map_err(|e| format!("this machine gives no random bytes: {e}"))?;
        let mut users = Self {
            by_name: BTreeMap::new(),
            anonymous: built_in.anonymous.as_ref().map(Rules::of).transpose()?.map(Arc::new),
            key,
            hashing: Semaphore::new(HASHES_AT_ONCE),
        };
        for user in &built_in.users {
            let secret = secret::read(base, credentials, &user.password_file)?;
            let text = secret.expose();
            let proof = if text.starts_with(HASHED) {
                let wrong = |why: String| {
                    format!("the hash in {} cannot be read: {why}", user.password_file)
                };
                let hash = PasswordHash::new(text).map_err(|e| wrong(e.to_string()))?;
                if hash.salt.is_none() || hash.hash.is_none() {
                    return Err(wrong("its end is missing".to_owned()));
                }
                Proof::Hash(text.to_owned(), Mutex::default())
            } else {
                Proof::Digest(users.digest(text.as_bytes()))
            };
            let rules = Arc::new(Rules::of(&user.rights)?);
            users.by_name.insert(user.name.clone(), User { proof, rules });
        }
        Ok(users)
    }

    /// Whether nobody is asked for a name at all.
    pub(super) fn is_open(&self) -> bool {
        self.by_name.is_empty()
    }

    /// `None` if the name or the password is wrong, or missing.
    pub(super) async fn let_in(&self, name: Option<&str>, password: &[u8]) -> Option<LetIn> {
        let Some(name) = name.filter(|_| !self.is_open()) else {
            let rules = self.anonymous.clone()?;
            return Some(LetIn { name: NOBODY.into(), rules });
        };
        let Some(user) = self.by_name.get(name) else {
            // As long as a wrong password takes, so that names cannot be told by the clock.
            let _ = self.is_same(password, &self.digest(b""));
            return None;
        };
        let proven = match &user.proof {
            Proof::Digest(digest) => self.is_same(password, digest),
            Proof::Hash(text, known) => self.is_hashed(password, text, known).await,
        };
        proven.then(|| LetIn { name: name.into(), rules: user.rules.clone() })
    }

    fn digest(&self, password: &[u8]) -> Vec<u8> {
        self.mac(password).finalize().into_bytes().to_vec()
    }

    /// In constant time (ASVS 11.2.4).
    fn is_same(&self, password: &[u8], digest: &[u8]) -> bool {
        self.mac(password).verify_slice(digest).is_ok()
    }

    fn mac(&self, password: &[u8]) -> Hmac<Sha256> {
        let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(&self.key) else {
            // HMAC takes a key of any length (RFC 2104, section 2).
            unreachable!("a key of 32 bytes is a key")
        };
        mac.update(password);
        mac
    }

    async fn is_hashed(&self, password: &[u8], text: &str, known: &Mutex<Option<Vec<u8>>>) -> bool {
        if super::lock(known).as_ref().is_some_and(|digest| self.is_same(password, digest)) {
            return true;
        }
        let Ok(_one) = self.hashing.acquire().await else { return false };
        let (given, text) = (password.to_vec(), text.to_owned());
        let hashing = tokio::task::spawn_blocking(move || {
            PasswordHash::new(&text)
                .is_ok_and(|hash| Argon2::default().verify_password(&given, &hash).is_ok())
        });
        let proven = hashing.await.unwrap_or(false);
        if proven {
            *super::lock(known) = Some(self.digest(password));
        }
        proven
    }
}

impl Rules {
    fn of(rights: &built_in::Rights) -> Result<Self, String> {
        let parse = |texts: &[String]| {
            texts
                .iter()
                .map(|text| Filter::parse(text).map_err(|e| format!("{text}: {e}")))
                .collect::<Result<Vec<_>, _>>()
        };
        Ok(Self { writes: parse(&rights.writes)?, reads: parse(&rights.reads)? })
    }

    pub(super) fn may_write(&self, topic: &str) -> bool {
        self.writes.iter().any(|filter| filter.matches(topic).is_some())
    }

    /// A subscription is granted if everything it could bring is granted.
    pub(super) fn may_read(&self, wanted: &str) -> bool {
        let wanted = wanted
            .strip_prefix("$share/")
            .and_then(|rest| rest.split_once('/'))
            .map_or(wanted, |(_group, filter)| filter);
        self.reads.iter().any(|filter| covers(filter.written(), wanted))
    }
}

/// Whether every topic that `wanted` means is meant by `granted` (MQTT 5, section 4.7).
fn covers(granted: &str, wanted: &str) -> bool {
    if wanted.starts_with('$') && granted.starts_with(['#', '+']) {
        return false;
    }
    let mut wanted = wanted.split('/');
    for level in granted.split('/') {
        if level == "#" {
            return true;
        }
        match wanted.next() {
            // `a/#` means `a` and everything below it: too much for anything but `#`.
            None | Some("#") => return false,
            Some(_) if level == "+" => {}
            Some(given) if given == level => {}
            Some(_) => return false,
        }
    }
    wanted.next().is_none()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_subscription_is_granted_only_if_all_it_could_bring_is() {
        for (granted, wanted, expected) in [
            ("#", "#", true),
            ("#", "yard/+/state", true),
            ("#", "$SYS/#", false),
            ("+/uptime", "$SYS/uptime", false),
            ("$SYS/#", "$SYS/uptime", true),
            ("yard/#", "yard", true),
            ("yard/#", "yard/#", true),
            ("yard/+", "yard/#", false),
            ("yard/+", "yard/+", true),
            ("yard/t-07", "yard/+", false),
            ("yard/+/state", "yard/t-07/state", true),
            ("yard/+/state", "yard/t-07/state/more", false),
            ("yard/t-07/#", "yard/+/#", false),
        ] {
            assert_eq!(covers(granted, wanted), expected, "{granted} for {wanted}");
        }
        let rights = built_in::Rights { writes: vec![], reads: vec!["yard/#".to_owned()] };
        let rules = Rules::of(&rights).unwrap();
        assert!(rules.may_read("$share/night/yard/+"));
        assert!(!rules.may_read("$share/night/#"));
        assert!(!rules.may_write("yard/t-07"));
    }

    fn filter() -> impl Strategy<Value = String> {
        let level = prop::sample::select(vec!["a", "b", "", "+"]);
        (prop::collection::vec(level, 1..4), any::<bool>()).prop_map(|(mut levels, rest)| {
            if rest {
                levels.push("#");
            }
            levels.join("/")
        })
    }

    proptest! {
        /// Checked against the matcher, which is held against the standard's own examples.
        #[test]
        fn what_is_granted_brings_nothing_that_is_not(
            granted in filter(),
            wanted in filter(),
            topic in prop::collection::vec(prop::sample::select(vec!["a", "b", "", "c"]), 1..5),
        ) {
            let topic = topic.join("/");
            let means = |filter: &str| Filter::parse(filter).unwrap().matches(&topic).is_some();
            if !wanted.is_empty() && !granted.is_empty() && covers(&granted, &wanted) {
                prop_assert!(!means(&wanted) || means(&granted), "{} {} {}", granted, wanted, topic);
            }
        }
    }

    fn users(text: &str, anonymous: bool) -> Users {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("t-07.secret"), text).unwrap();
        let built_in = built_in::BuiltIn {
            plain: None,
            secure: None,
            users: vec![built_in::User {
                name: "t-07".to_owned(),
                password_file: "t-07.secret".to_owned(),
                rights: built_in::Rights::default(),
            }],
            anonymous: anonymous.then(built_in::Rights::default),
            limits: built_in::Limits::default(),
        };
        Users::read(&built_in, folder.path(), None).unwrap()
    }

    #[tokio::test]
    async fn only_the_right_name_with_the_right_password_is_let_in() {
        for (anonymous, nameless) in [(false, false), (true, true)] {
            let users = users("oak gate\n", anonymous);
            for (name, password, expected) in [
                (Some("t-07"), "oak gate", true),
                (Some("t-07"), "oak gat", false),
                (Some("t-07"), "oak gate ", false),
                (Some("t-07"), "", false),
                (Some("t-08"), "oak gate", false),
                (Some("anonymous"), "", false),
                (None, "oak gate", nameless),
            ] {
                let is_in = users.let_in(name, password.as_bytes()).await.is_some();
                assert_eq!(is_in, expected, "{name:?} {password:?}");
            }
        }
    }

    /// Source: the reference implementation's own test vector (phc-winner-argon2, version 0x13,
    /// Argon2id, 2 passes, 64 MiB, one lane, "password" and "somesalt"), from memory; that the
    /// library takes it is the check.
    #[tokio::test]
    async fn a_password_may_be_kept_as_a_hash() {
        let hash = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
        let users = users(hash, false);
        for _again in 0..2 {
            assert!(users.let_in(Some("t-07"), b"password").await.is_some());
            assert!(users.let_in(Some("t-07"), b"Password").await.is_none());
        }
        assert!(users.let_in(Some("t-07"), hash.as_bytes()).await.is_none());
    }
}
