//! Parts of a run in files: they join to the file of the run, whatever is wrong with one is told, and
//! no bytes are a panic.

use std::ops::Range;

use barkslip_futures::case::Case;
use barkslip_futures::{Options, Part, PartError, simulate};
use proptest::prelude::*;
use sha2::{Digest, Sha256};

fn full() -> Case {
    serde_json::from_str(include_str!("data/full.json")).expect("the case is in format 2")
}

fn options(seed: u64, threads: usize) -> Options {
    Options {
        futures: 60,
        seed,
        threads,
        keep_arrivals: true,
    }
}

fn part(which: Range<u32>, threads: usize) -> Part {
    Part::draw(&full(), which, &options(7, threads), None, None).expect("the case is valid")
}

fn read(bytes: &[u8]) -> Part {
    Part::from_bytes(bytes).expect("the file is whole")
}

#[test]
fn parts_join_to_the_file_of_the_run_in_any_order() {
    let whole = part(0..60, 3);
    let bytes = whole.to_bytes();
    assert_eq!(read(&bytes), whole);
    let cuts = [0, 1, 9, 17, 30, 31, 52, 60];
    let parts: Vec<Vec<u8>> = cuts
        .windows(2)
        .map(|cut| part(cut[0]..cut[1], 1).to_bytes())
        .collect();
    for order in [
        [0, 1, 2, 3, 4, 5, 6],
        [6, 2, 4, 0, 1, 5, 3],
        [3, 6, 5, 4, 2, 1, 0],
    ] {
        let mut all = read(&parts[order[0]]);
        for at in &order[1..] {
            all.merge(&read(&parts[*at])).expect("they belong together");
        }
        assert!(all.to_bytes() == bytes, "{order:?}");
    }
    let summary = simulate(&full(), &options(7, 2), None, None).expect("the case is valid");
    assert_eq!(read(&bytes).summary(), summary);
}

#[test]
fn gaps_are_told() {
    let mut parts = part(40..60, 1);
    parts.merge(&part(5..10, 1)).expect("they belong together");
    parts.merge(&part(10..12, 1)).expect("they belong together");
    assert_eq!(parts.ranges().collect::<Vec<_>>(), [5..12, 40..60]);
    assert_eq!((parts.gaps(), parts.summary().futures), (28, 27));
    let none = part(9..9, 1);
    assert_eq!((none.ranges().count(), none.gaps()), (0, 0));
    parts
        .merge(&read(&none.to_bytes()))
        .expect("nothing is added");
    assert_eq!(parts.summary().futures, 27);
}

#[test]
fn parts_that_do_not_belong_together_are_refused() {
    let mut first = part(0..20, 1);
    let before = first.clone();
    let mut refused = |other: &Part| first.merge(other).expect_err("they do not belong together");
    let overlap = |from, last| PartError::Overlap { from, last };
    assert_eq!(refused(&part(10..30, 1)), overlap(10, 19));
    assert_eq!(refused(&part(5..7, 1)), overlap(5, 6));
    assert_eq!(refused(&part(0..20, 1)), overlap(0, 19));
    let mut other = full();
    other.orders[3].plants += 1;
    let draw = |case: &Case, options: &Options| {
        Part::draw(case, 20..25, options, None, None).expect("the case is valid")
    };
    assert_eq!(refused(&draw(&other, &options(7, 1))), PartError::OtherCase);
    let seed = PartError::OtherSeed {
        found: 8,
        expected: 7,
    };
    assert_eq!(refused(&draw(&full(), &options(8, 1))), seed);
    let without = Options {
        keep_arrivals: false,
        ..options(7, 1)
    };
    assert_eq!(refused(&draw(&full(), &without)), PartError::OtherCounts);
    assert_eq!(first, before, "nothing is added");
    assert!(first.is_of(&full()) && !first.is_of(&other));
}

/// The file with other bytes in its map, and the hash of those.
fn forged(map: &[u8]) -> Vec<u8> {
    [map, &[0x58, 32], &Sha256::digest(map)].concat()
}

/// The file without its hash.
fn map_of(bytes: &[u8]) -> &[u8] {
    &bytes[..bytes.len() - 34]
}

fn replaced(bytes: &[u8], old: &[u8], new: &[u8]) -> Vec<u8> {
    let at = bytes
        .windows(old.len())
        .position(|part| part == old)
        .expect("it is there");
    [&bytes[..at], new, &bytes[at + old.len()..]].concat()
}

#[test]
fn other_files_and_versions_are_told() {
    let bytes = part(0..4, 1).to_bytes();
    let refused = |bytes: &[u8]| Part::from_bytes(bytes).expect_err("it is refused");
    assert_eq!(refused(b""), PartError::NotFutures);
    assert_eq!(refused(b"{\"format\": 2}"), PartError::NotFutures);
    let other = replaced(&bytes, b"barkslip futures", b"barkslip secrets");
    assert_eq!(refused(&forged(map_of(&other))), PartError::NotFutures);
    let later = replaced(&bytes, b"gversion\x01", b"gversion\x09");
    assert_eq!(refused(&later), PartError::Version { found: 9 });
    let numbers = replaced(&bytes, b"gnumbers\x03", b"gnumbers\x04");
    assert_eq!(refused(&numbers), PartError::Damaged);
    assert_eq!(
        refused(&forged(map_of(&numbers))),
        PartError::Numbers { found: 4 }
    );
    assert_eq!(refused(&bytes[..bytes.len() - 1]), PartError::Damaged);
    assert_eq!(refused(&[&bytes[..], b"!"].concat()), PartError::Damaged);
    assert_eq!(
        refused(&forged(&[map_of(&bytes), b"!"].concat())),
        PartError::Damaged
    );
    // Four futures are not five, whatever the hash says.
    let more = replaced(
        &bytes,
        b"franges\x81\x82\x00\x04",
        b"franges\x81\x82\x00\x05",
    );
    assert_eq!(refused(&forged(map_of(&more))), PartError::Damaged);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// Any bytes are refused or read, and what is read can be joined and summed up.
    #[test]
    fn no_bytes_are_a_panic(
        flips in prop::collection::vec((any::<prop::sample::Index>(), 1u8..), 1..6),
        cut in any::<prop::sample::Index>(),
        is_cut in any::<bool>(),
        is_forged in any::<bool>(),
    ) {
        let bytes = FILE.with(Clone::clone);
        let mut map = map_of(&bytes).to_vec();
        for (at, flip) in flips {
            let at = at.index(map.len());
            map[at] ^= flip;
        }
        if is_cut {
            map.truncate(cut.index(map.len()));
        }
        let file = if is_forged {
            forged(&map)
        } else if is_cut {
            map
        } else {
            [&map, &bytes[map.len()..]].concat()
        };
        let is_whole = file == bytes;
        if let Ok(mut part) = Part::from_bytes(&file) {
            part.summary();
            let _ = part.merge(&read(&bytes));
            part.summary();
            prop_assert!(is_forged || is_whole, "a damaged file is known by its hash");
        }
    }

    /// Numbers of any size in a file whose hash is right.
    #[test]
    fn no_numbers_are_a_panic(at in any::<prop::sample::Index>(), value in any::<u64>(), bits in 0u32..64) {
        let bytes = FILE.with(Clone::clone);
        let map = map_of(&bytes);
        // A small number of one byte becomes one of nine.
        let small: Vec<usize> = (0..map.len()).filter(|at| map[*at] < 24).collect();
        let at = small[at.index(small.len())];
        let number = (value >> bits).to_be_bytes();
        let map = [&map[..at], &[0x1b], &number, &map[at + 1..]].concat();
        if let Ok(mut part) = Part::from_bytes(&forged(&map)) {
            part.summary();
            let _ = part.merge(&read(&bytes));
        }
    }
}

thread_local! {
    static FILE: Vec<u8> = {
        let mut case = full();
        case.orders.truncate(9);
        case.phases.retain(|stage, _| stage.starts_with('R') || case.orders.iter().any(|order| order.accepts.contains(stage)));
        let known: Vec<String> = case.stages().into_iter().map(str::to_owned).collect();
        let is_known = |stage: &String| known.contains(stage);
        case.lots.retain(|lot| is_known(&lot.stage));
        case.orders.retain(|order| order.accepts.iter().all(is_known));
        case.operations.retain(|work| is_known(&work.moves_to) && work.takes_from.as_ref().is_none_or(is_known));
        for path in &mut case.paths {
            path.losses.iter_mut().for_each(|loss| loss.stages.retain(is_known));
        }
        case.operations.retain(|work| case.phases.contains_key(&work.moves_to));
        case.lots.retain(|lot| case.phases.contains_key(&lot.stage) || lot.immature == 0);
        Part::draw(&case, 0..4, &options(7, 1), None, None).expect("the case is valid").to_bytes()
    };
}
