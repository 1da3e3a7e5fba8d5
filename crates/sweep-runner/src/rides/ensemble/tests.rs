//! Checks of the mistakes that are drawn.

use crate::rides::mistakes::Mistakes;

#[test]
fn exact_mistakes_hang_on_seed_and_ride_alone() {
    assert_eq!(Mistakes::draw(7, 3, 14), Mistakes::draw(7, 3, 14));
    assert_ne!(Mistakes::draw(7, 3, 14), Mistakes::draw(7, 4, 14));
    assert_ne!(Mistakes::draw(7, 3, 14), Mistakes::draw(8, 3, 14));
    // fewer corners, the same mistakes in those that are left
    assert_eq!(Mistakes::draw(7, 3, 14).corners[..5], Mistakes::draw(7, 3, 5).corners[..]);
}
