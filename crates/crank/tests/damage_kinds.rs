//! Kinds of damage come back as they are said, and a mistyped crack is no kind at all.

use crank::{DamageKind, NotADamage};
use proptest::prelude::*;

#[test]
fn a_kind_comes_back_as_it_is_said() {
    for kind in DamageKind::ALL {
        assert_eq!(kind.to_string().parse(), Ok(kind));
        assert_eq!(format!(" {} ", kind.word().to_uppercase()).parse(), Ok(kind));
    }
}

#[test]
fn a_mistyped_crack_is_not_taken_for_something_that_grinds_out() {
    for word in ["crak", "cracks", "a crack", "pick up", "", "none"] {
        assert_eq!(word.parse::<DamageKind>(), Err(NotADamage), "{word}");
    }
    assert!(NotADamage.to_string().contains("crack"));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_else_is_taken_for_a_kind(text in any::<String>()) {
        if let Ok(kind) = text.parse::<DamageKind>() {
            prop_assert_eq!(text.trim().to_lowercase(), kind.word());
        }
    }
}
