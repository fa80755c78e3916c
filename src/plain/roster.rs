//! A list in the order in which its members came, each found by name at once.
//!
//! A reading concerns one dam and must not cost more in a large herd: a name is found by its hash,
//! and whoever walks the list walks it in the order of coming, so that the hash is never seen.

#![expect(
    clippy::disallowed_types,
    reason = "the one hash map of the house: it is only ever asked, never walked"
)]

use std::borrow::Borrow;
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Members are added and changed, never taken out.
#[derive(Clone, Debug)]
pub struct Roster<K, V> {
    members: Vec<(K, V)>,
    places: HashMap<K, u32, BuildHasherDefault<Fnv>>,
}

/// FNV-1a with 64 bits: the same on every machine, quick for short names.
#[derive(Clone, Debug)]
pub struct Fnv(u64);

impl Default for Fnv {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Hasher for Fnv {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

impl<K, V> Default for Roster<K, V> {
    fn default() -> Self {
        Self { members: Vec::new(), places: HashMap::default() }
    }
}

impl<K: Hash + Eq + Clone, V> Roster<K, V> {
    pub fn get<Q: Hash + Eq + ?Sized>(&self, name: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        let place = *self.places.get(name)?;
        self.members.get(place as usize).map(|(_, value)| value)
    }

    pub fn get_mut<Q: Hash + Eq + ?Sized>(&mut self, name: &Q) -> Option<&mut V>
    where
        K: Borrow<Q>,
    {
        let place = *self.places.get(name)?;
        self.members.get_mut(place as usize).map(|(_, value)| value)
    }

    pub fn contains<Q: Hash + Eq + ?Sized>(&self, name: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.places.contains_key(name)
    }

    /// The member of that name, added at the end if it is new.
    pub fn member(&mut self, name: &K) -> &mut V
    where
        V: Default,
    {
        let place = self.place(name);
        &mut self.members[place as usize].1
    }

    /// Where the member of that name stands, added at the end if it is new. It stands there for good.
    pub fn place(&mut self, name: &K) -> u32
    where
        V: Default,
    {
        if let Some(place) = self.places.get(name) {
            return *place;
        }
        let place = u32::try_from(self.members.len()).unwrap_or(u32::MAX);
        self.members.push((name.clone(), V::default()));
        self.places.insert(name.clone(), place);
        place
    }

    /// Where the member of that name stands, if there is one.
    pub fn find<Q: Hash + Eq + ?Sized>(&self, name: &Q) -> Option<u32>
    where
        K: Borrow<Q>,
    {
        self.places.get(name).copied()
    }

    /// Who stands at a place that `place` gave.
    pub fn at(&self, place: u32) -> (&K, &V) {
        let (name, value) = &self.members[place as usize];
        (name, value)
    }

    pub fn at_mut(&mut self, place: u32) -> &mut V {
        &mut self.members[place as usize].1
    }

    pub fn iter(&self) -> impl Iterator<Item = (&K, &V)> {
        self.members.iter().map(|(name, value)| (name, value))
    }

    pub fn values_mut(&mut self) -> impl Iterator<Item = &mut V> {
        self.members.iter_mut().map(|(_, value)| value)
    }

    pub fn names(&self) -> impl Iterator<Item = &K> {
        self.members.iter().map(|(name, _)| name)
    }

    pub fn len(&self) -> usize {
        self.members.len()
    }

    pub fn is_empty(&self) -> bool {
        self.members.is_empty()
    }

    pub fn clear(&mut self) {
        self.members.clear();
        self.places.clear();
    }
}

impl<K: PartialEq, V: PartialEq> PartialEq for Roster<K, V> {
    fn eq(&self, other: &Self) -> bool {
        self.members == other.members
    }
}

impl<K: Serialize, V: Serialize> Serialize for Roster<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.members.serialize(serializer)
    }
}

impl<'de, K: Deserialize<'de> + Hash + Eq + Clone, V: Deserialize<'de>> Deserialize<'de>
    for Roster<K, V>
{
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let members = Vec::<(K, V)>::deserialize(deserializer)?;
        let places = members.iter().zip(0_u32..).map(|((name, _), place)| (name.clone(), place));
        Ok(Self { places: places.collect(), members })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plain::ids::Animal;

    #[test]
    fn members_are_found_by_name_and_walked_in_the_order_of_coming() {
        let mut herd: Roster<Animal, u32> = Roster::default();
        for (n, name) in ["207", "031", "114"].iter().enumerate() {
            *herd.member(&Animal::new(name)) = u32::try_from(n).unwrap();
        }
        *herd.member(&Animal::new("031")) += 10;
        assert_eq!(herd.get("031"), Some(&11));
        assert_eq!(herd.get("31"), None, "leading zeros count");
        let names: Vec<&str> = herd.names().map(Animal::as_str).collect();
        assert_eq!(names, ["207", "031", "114"]);
        let text = serde_json::to_string(&herd).unwrap();
        let again: Roster<Animal, u32> = serde_json::from_str(&text).unwrap();
        assert_eq!(again, herd);
        assert_eq!(again.get("114"), Some(&2));
    }

    /// Source: the FNV reference tables (Fowler, Noll, Vo), 64-bit FNV-1a of "foobar".
    #[test]
    fn the_hash_is_the_published_one() {
        let mut hash = Fnv::default();
        hash.write(b"foobar");
        assert_eq!(hash.finish(), 0x8594_4171_f739_67e8);
    }
}
