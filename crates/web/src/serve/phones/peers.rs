//! So many connections for each address, so that one device cannot take all places.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Connections of one address at once: a quarter of all places, own rule. A browser opens six.
const MOST_OF_ONE: usize = 64;

/// How many connections each address has.
#[derive(Debug, Default)]
pub(super) struct Peers(Mutex<HashMap<IpAddr, usize>>);

impl Peers {
    /// One more place for an address; none where it has all it may have.
    pub(super) fn place(self: &Arc<Self>, peer: IpAddr) -> Option<PeerPlace> {
        let mut counts = self.counts();
        let count = counts.entry(peer).or_default();
        if *count == MOST_OF_ONE {
            return None;
        }
        *count += 1;
        Some(PeerPlace {
            peers: Arc::clone(self),
            peer,
        })
    }

    fn counts(&self) -> MutexGuard<'_, HashMap<IpAddr, usize>> {
        // A count is whole after each statement.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A place that is free again once it is dropped.
#[derive(Debug)]
pub(super) struct PeerPlace {
    peers: Arc<Peers>,
    peer: IpAddr,
}

impl Drop for PeerPlace {
    fn drop(&mut self) {
        let mut counts = self.peers.counts();
        if let Some(count) = counts.get_mut(&self.peer) {
            *count -= 1;
            if *count == 0 {
                counts.remove(&self.peer);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_takes_no_more_than_its_places() {
        let peers = Arc::new(Peers::default());
        let of = |last: u8| IpAddr::from([192, 0, 2, last]);
        let mut taken: Vec<_> = (0..MOST_OF_ONE).map(|_| peers.place(of(1))).collect();
        assert!(taken.iter().all(Option::is_some));
        assert!(peers.place(of(1)).is_none());
        assert!(peers.place(of(2)).is_some(), "others come in");
        taken.pop();
        assert!(peers.place(of(1)).is_some());
        taken.clear();
        assert!(peers.counts().is_empty(), "nothing is kept of who left");
    }
}
