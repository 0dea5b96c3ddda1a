//! What every backend of the store can do.

use std::ops::ControlFlow;

use crate::{Device, Entry, Hash, Head, Invitation, NewEntry, Result};

/// Reading entries: of a ledger as it stands, or within a write.
pub trait Reading {
    /// Where the chain ends now.
    fn head(&self) -> Result<Head>;

    /// How many entries there are: the number of the last one, which is not read again while nobody appends.
    fn number(&self) -> Result<u64>;

    /// Hands the entries after `seq` over, in order, until `visit` breaks or the last one was there.
    /// All are of one moment, whatever is appended meanwhile. Their hashes are not counted again:
    /// that is what [`Ledger::verify`] is for.
    fn entries(&self, seq: u64, visit: &mut dyn FnMut(Entry) -> ControlFlow<()>) -> Result<()>;

    /// The entry of a number.
    fn entry(&self, seq: u64) -> Result<Option<Entry>>;

    /// The entry in which the act of this id was done; refusals do not count.
    fn done(&self, act_id: &str) -> Result<Option<Entry>>;
}

/// The ledger of one nursery, over which a program holds one connection.
///
/// Everything but entries is written on its own and durable on return.
pub trait Ledger: Reading + Send {
    /// The id of the nursery whose ledger this is.
    fn nursery(&self) -> &str;

    /// Begins to write entries. No other program can until the [`Writing`] is committed or dropped;
    /// so what it reads is what it appends to.
    ///
    /// # Errors
    /// [`Busy`](crate::StoreError::Busy) when another program writes for longer than ten seconds.
    fn write(&mut self) -> Result<Box<dyn Writing + '_>>;

    /// Keeps a derived state at `head` in place of an older one of the key. It may be dropped.
    fn save_snapshot(&self, key: &str, head: Head, bytes: &[u8]) -> Result<()>;

    /// The snapshot of a key, unless it is damaged or its head is not in the chain (any more): then
    /// there is none, and the state is made again from the entries.
    fn snapshot(&self, key: &str) -> Result<Option<(Head, Vec<u8>)>>;

    /// The short id of a name such as `p7` (the kind's first letter and a number): the one it has,
    /// or a new one. Ids are never used twice, even when a name is erased.
    fn name_id(&self, kind: &str, name: &str) -> Result<String>;

    /// The name of an id, unless it was erased or never given.
    fn name(&self, id: &str) -> Result<Option<String>>;

    /// Ids and names of a kind that are not erased, in the order of their ids.
    fn names(&self, kind: &str) -> Result<Vec<(String, String)>>;

    /// Forgets a name, and the devices of the person where it is one: afterwards none of its bytes are in
    /// the ledger, and its id stands for nobody. Copies made before (backups) still hold it.
    ///
    /// # Errors
    /// [`NotFound`](crate::StoreError::NotFound) for an id that was never given;
    /// [`Busy`](crate::StoreError::Busy) when another program holds the ledger open in the middle of
    /// reading: the name is gone then, but bytes of it may be left until this is called again.
    fn erase_name(&self, id: &str) -> Result<()>;

    /// Keeps bytes for ever, and once only, under their hash.
    fn put_blob(&self, bytes: &[u8]) -> Result<Hash>;

    /// The bytes of a hash.
    ///
    /// # Errors
    /// [`Damaged`](crate::StoreError::Damaged) when the bytes are not those of the hash.
    fn blob(&self, hash: &Hash) -> Result<Option<Vec<u8>>>;

    /// Keeps the result of a run in place of an older one of its name. It may be dropped.
    fn save_run(&self, run: &Run) -> Result<()>;

    /// The run of a name.
    fn run(&self, name: &str) -> Result<Option<Run>>;

    /// Names of the runs of a kind and when they were made, the one saved last first.
    fn runs(&self, kind: &str) -> Result<Vec<(String, String)>>;

    /// The run of a kind that was saved last.
    fn latest_run(&self, kind: &str) -> Result<Option<Run>>;

    /// Notes a device that may join by a code; one of the same id that has not joined gets this code in place
    /// of its old one.
    ///
    /// # Errors
    /// [`AlreadyThere`](crate::StoreError::AlreadyThere) when the device has joined or was revoked.
    fn invite(&self, invitation: &Invitation) -> Result<()>;

    /// The device that may join by a code at a moment; none where the code was used, has ended or was
    /// taken back.
    fn invited(&self, code: &Hash, now: &str) -> Result<Option<Device>>;

    /// Lets a device in: from now on it is known by the hash of its token, and its code is used up.
    /// None where the code does not hold (any more).
    fn join(&self, code: &Hash, now: &str, token: &Hash) -> Result<Option<Device>>;

    /// The device of a token that has joined and was not revoked.
    fn device_of(&self, token: &Hash) -> Result<Option<Device>>;

    /// All devices, in the order of their ids.
    fn devices(&self) -> Result<Vec<Device>>;

    /// Notes when a device was here last.
    fn seen(&self, id: &str, at: &str) -> Result<()>;

    /// Lets a device in no more; its code or token is forgotten. Returns whether there was one to revoke.
    fn revoke(&self, id: &str, at: &str) -> Result<bool>;

    /// Walks the chain from nothing, then looks at blobs and at the database itself.
    ///
    /// `kept` is a head that somebody kept elsewhere. Only with it a tail that was cut off, or a
    /// chain that was written anew, can be told from one that was never longer.
    ///
    /// # Errors
    /// [`Damaged`](crate::StoreError::Damaged) names the first bad entry.
    fn verify(&self, kept: Option<Head>) -> Result<Verified>;
}

/// A write that is either committed as a whole or never was. Dropped, it never was.
pub trait Writing: Reading {
    /// Appends an entry to the chain.
    ///
    /// # Errors
    /// [`AlreadyThere`](crate::StoreError::AlreadyThere) when the act of this id was done before;
    /// the write goes on without the entry. After any other error it can only be dropped.
    fn push(&mut self, entry: NewEntry) -> Result<Entry>;

    /// Makes it durable: on return it is on the disk.
    fn commit(self: Box<Self>) -> Result<()>;
}

/// The result of a run of planner or futures, which can be made again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Its name.
    pub name: String,
    /// What it is a run of, such as `plan`.
    pub kind: String,
    /// When it was made, as the caller writes times.
    pub made_at: String,
    /// The result.
    pub bytes: Vec<u8>,
}

/// A ledger that was verified.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Verified {
    /// How many entries were walked.
    pub entries: u64,
    /// Where the chain ends: what one may keep, to see a cut-off tail later.
    pub head: Head,
}
