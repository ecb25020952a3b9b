//! The seal on the chain of hashes: a key that is kept beside the record, not in it.
//!
//! The hash of an entry shows that it was changed by accident, or by somebody who did not change the hashes after it too. Who
//! can write to the record can do that. A seal is made with a key that such a person need not have: HMAC with SHA-256 (RFC
//! 2104, FIPS 198-1) of the hash. What is kept is the mark of an entry: `hash`, or `hash.key.seal`, where `key` is the
//! name of the key.

use std::fmt;
use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::error::StoreError;
use crate::fold::hex;

/// Bytes of a key, as many as the hash has.
const KEY_BYTES: usize = 32;
/// Bytes of a block of the hash (FIPS 180-4, figure 1: 512 bits).
const BLOCK_BYTES: usize = 64;
/// The largest file that can be one of keys; nobody makes more than a few.
const MOST_FILE_BYTES: u64 = 64 * 1024;

/// One key. It is never shown; its name is.
#[derive(Clone)]
struct Key {
    name: String,
    secret: [u8; KEY_BYTES],
}

/// The keys at hand, the oldest first; the last is the one in use.
#[derive(Clone, Default)]
pub(crate) struct Keys(Arc<Vec<Key>>);

impl fmt::Debug for Keys {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.0.iter().map(|key| &key.name)).finish()
    }
}

/// How a mark stands to what it is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Seal {
    /// It is on something else: this was changed.
    Broken,
    /// The hash is right; there is no seal.
    Unsealed,
    /// The hash is right and so is the seal.
    Holds,
    /// The hash is right; the seal is of a key that is not at hand.
    Unknown,
}

impl Keys {
    /// The keys in a file; none where there is no such file.
    pub(crate) fn from_file(file: &Path) -> Result<Keys, StoreError> {
        let failed = |error: std::io::Error| StoreError::file(file, &error);
        let size = match std::fs::metadata(file) {
            // A pipe would be waited for.
            Ok(found) if !found.is_file() => return Err(failed(std::io::Error::other("it is no file"))),
            Ok(found) => found.len(),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Keys::default()),
            Err(error) => return Err(failed(error)),
        };
        let no_key = |detail: &str| StoreError::File { file: file.display().to_string(), detail: detail.to_owned() };
        if size > MOST_FILE_BYTES {
            return Err(no_key("it is far larger than a file with a key"));
        }
        let text = std::fs::read_to_string(file).map_err(failed)?;
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        let keys: Option<Vec<Key>> = lines.map(|line| from_hex(line).map(Key::of)).collect();
        match keys {
            Some(keys) if !keys.is_empty() => Ok(Keys(Arc::new(keys))),
            _ => Err(no_key("it holds no key of a record, or a damaged one; put a copy of the right one there")),
        }
    }

    /// These and a new one, which is in use from then on.
    pub(crate) fn with_a_new_one(&self) -> Result<Keys, StoreError> {
        let mut secret = [0_u8; KEY_BYTES];
        getrandom::fill(&mut secret).map_err(StoreError::fault)?;
        let mut keys = self.0.to_vec();
        keys.push(Key::of(secret));
        Ok(Keys(Arc::new(keys)))
    }

    /// These, with the one of that name in use.
    pub(crate) fn using(&self, name: &str) -> Keys {
        let mut keys = self.0.to_vec();
        keys.sort_by_key(|key| key.name == name);
        Keys(Arc::new(keys))
    }

    /// Puts them into a new file that nobody else can read, and on the disk.
    pub(crate) fn into_file(self, file: &Path) -> Result<(), StoreError> {
        let mut text =
            "# The key of a record of this shop. Keep a copy apart from the record, and show it to nobody:\n\
                        # docs/record.md says why.\n"
                .to_owned();
        for key in self.0.iter() {
            text += &hex(&key.secret);
            text.push('\n');
        }
        let failed = |error: std::io::Error| StoreError::file(file, &error);
        let mut out = super::private::new_file(file).map_err(failed)?;
        out.write_all(text.as_bytes()).and_then(|()| out.sync_all()).map_err(failed)
    }

    /// The name of the key in use; nothing where there is none.
    pub(crate) fn name(&self) -> Option<&str> {
        self.0.last().map(|key| key.name.as_str())
    }

    /// Whether the key of that name is at hand.
    pub(crate) fn has(&self, name: &str) -> bool {
        self.0.iter().any(|key| key.name == name)
    }

    /// The mark of what has this hash: sealed, where there is a key.
    pub(crate) fn mark(&self, hash: String) -> String {
        match self.0.last() {
            Some(key) => format!("{hash}.{}.{}", key.name, key.seal(&hash)),
            None => hash,
        }
    }

    /// How the mark that is kept stands to the hash worked out anew.
    pub(crate) fn look(&self, mark: &str, hash: &str) -> Seal {
        let mut parts = mark.split('.');
        if parts.next() != Some(hash) {
            return Seal::Broken;
        }
        match (parts.next(), parts.next(), parts.next()) {
            (None, None, None) => Seal::Unsealed,
            (Some(name), Some(seal), None) => match self.0.iter().find(|key| key.name == name) {
                Some(key) if key.seal(hash) == seal => Seal::Holds,
                Some(_) => Seal::Broken,
                None if name.len() == NAME_DIGITS && seal.len() == 2 * KEY_BYTES => Seal::Unknown,
                None => Seal::Broken,
            },
            _ => Seal::Broken,
        }
    }

    /// The short code of a mark, for paper; with the key that sealed it, where that is at hand.
    pub(crate) fn code(&self, mark: &str) -> String {
        let mut parts = mark.split('.');
        let hash = parts.next().unwrap_or_default();
        let about = format!("paper {hash}");
        let key = parts.next().and_then(|name| self.0.iter().find(|key| key.name == name));
        let bytes = match key {
            Some(key) => hmac(&key.secret, about.as_bytes()),
            None => Sha256::digest(about.as_bytes()).into(),
        };
        let letters: Vec<u8> =
            bytes.iter().take(CODE_LETTERS).filter_map(|byte| LETTERS.get(usize::from(byte % 32))).copied().collect();
        letters.chunks(4).map(String::from_utf8_lossy).collect::<Vec<_>>().join("-")
    }
}

/// Letters and figures of codes; none that is taken for another when it is read aloud or written by hand.
const LETTERS: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
/// Letters of a code: 60 bits, so that nobody finds another paper with the same by trying.
const CODE_LETTERS: usize = 12;
/// Digits of the name of a key.
const NAME_DIGITS: usize = 8;

/// A code as somebody may type it, as it is kept.
pub(crate) fn plain_code(typed: &str) -> String {
    let letters = typed.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase());
    let letters: Vec<char> = letters
        .map(|c| match c {
            'O' => '0',
            'I' => '1',
            other => other,
        })
        .collect();
    letters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join("-")
}

impl Key {
    fn of(secret: [u8; KEY_BYTES]) -> Key {
        // The name tells nothing of the key.
        let name = hex(&Sha256::digest(secret)).chars().take(NAME_DIGITS).collect();
        Key { name, secret }
    }

    fn seal(&self, hash: &str) -> String {
        hex(&hmac(&self.secret, hash.as_bytes()))
    }
}

/// HMAC with SHA-256. Source: RFC 2104, section 2.
fn hmac(key: &[u8], text: &[u8]) -> [u8; 32] {
    let mut block = [0_u8; BLOCK_BYTES];
    if key.len() > BLOCK_BYTES {
        block.iter_mut().zip(Sha256::digest(key)).for_each(|(to, from)| *to = from);
    } else {
        block.iter_mut().zip(key).for_each(|(to, from)| *to = *from);
    }
    let inner = Sha256::new().chain_update(block.map(|byte| byte ^ 0x36)).chain_update(text).finalize();
    Sha256::new().chain_update(block.map(|byte| byte ^ 0x5c)).chain_update(inner).finalize().into()
}

fn from_hex(text: &str) -> Option<[u8; KEY_BYTES]> {
    let digits: Vec<u8> =
        text.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect::<Option<_>>()?;
    let bytes: Vec<u8> = digits.chunks_exact(2).filter_map(|two| Some(two.first()? << 4 | two.last()?)).collect();
    if digits.len() == 2 * KEY_BYTES { bytes.try_into().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: RFC 4231, section 4, test cases 1, 2 and 6 (IETF, December 2005), from memory and checked with Python's `hmac`.
    #[test]
    fn seals_are_as_published() {
        for (key, text, seal) in [
            (vec![0x0b; 20], &b"Hi There"[..], "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
            (
                b"Jefe".to_vec(),
                b"what do ya want for nothing?",
                "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
            ),
            (
                vec![0xaa; 131],
                b"Test Using Larger Than Block-Size Key - Hash Key First",
                "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
            ),
        ] {
            assert_eq!(hex(&hmac(&key, text)), seal);
        }
    }

    #[test]
    fn a_mark_holds_for_what_it_is_on_and_its_key() {
        let (none, keys) = (Keys::default(), Keys::default().with_a_new_one().unwrap());
        let (hash, other) = (hex(&Sha256::digest("a")), hex(&Sha256::digest("b")));
        let mark = keys.mark(hash.clone());
        assert_eq!(keys.look(&mark, &hash), Seal::Holds);
        assert_eq!(keys.look(&mark, &other), Seal::Broken);
        assert_eq!(none.look(&mark, &hash), Seal::Unknown);
        assert_eq!(none.look(&hash, &hash), Seal::Unsealed);
        let renewed = keys.with_a_new_one().unwrap();
        assert_eq!(renewed.look(&mark, &hash), Seal::Holds, "an older key still tells");
        assert_ne!(renewed.mark(hash.clone()), mark);
        assert_eq!(renewed.using(keys.name().unwrap()).mark(hash.clone()), mark);
        // Any other digit anywhere.
        for at in 0..mark.len() {
            let mut bytes = mark.clone().into_bytes();
            bytes[at] ^= 1;
            let changed = String::from_utf8(bytes).unwrap();
            assert!(matches!(keys.look(&changed, &hash), Seal::Broken | Seal::Unknown), "{changed}");
        }
        assert_eq!(keys.code(&mark).len(), 14);
        assert_ne!(keys.code(&mark), none.code(&mark));
        assert_eq!(plain_code(&keys.code(&mark).to_lowercase().replace('-', " ")), keys.code(&mark));
    }
}
