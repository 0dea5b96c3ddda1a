//! The water of one place.

use intake::nearest;

use super::WaterAnswer;
use crate::error::{AppError, Kind};
use crate::folder::Loaded;

/// Leaves the blocks of one place in an answer; all else is of the whole nursery still.
pub fn at_place(
    answer: WaterAnswer,
    loaded: &Loaded,
    place: &str,
) -> Result<WaterAnswer, AppError> {
    let places = loaded.nursery.places.iter();
    let names: Vec<&str> = places.map(|it| it.place.as_str()).collect();
    let refused = |what, mend| Err(AppError::new(Kind::NotFound, what, "the place", mend));
    if !names.contains(&place) {
        let mend = match nearest(place, &names) {
            Some(name) => format!("name {name} if that is what is meant"),
            None => format!("name one of {}", names.join(", ")),
        };
        return refused(format!("there is no place {place}"), mend);
    }
    let of_place = answer.blocks.into_iter().filter(|it| it.place == place);
    let blocks: Vec<_> = of_place.collect();
    if blocks.is_empty() {
        let mend = "name a place with plants, or leave it out for all of them".to_owned();
        return refused(format!("no plant stands at {place}"), mend);
    }
    Ok(WaterAnswer { blocks, ..answer })
}
