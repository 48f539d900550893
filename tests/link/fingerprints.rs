//! A fingerprint stays the same wherever the job goes, and changes with what it covers.

use crate::jobs;
use proptest::prelude::*;
use sixty_ohms::core::job::Job;
use sixty_ohms::core::job::fingerprint::fingerprint;
use sixty_ohms::core::job::link::{Leave, Opened, open, pack};
use sixty_ohms::core::job::photo::Photo;

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn it_survives_store_and_link(job in jobs::job(), people in any::<bool>()) {
        let leave = Leave { people, ..Leave::NOTHING };
        let here = fingerprint(&job, &leave);
        let text = serde_json::to_string(&job).unwrap();
        let stored: Job = serde_json::from_str(&text).unwrap();
        prop_assert_eq!(&fingerprint(&stored, &leave), &here);
        let Ok(Opened::Job(opened, left)) = open(&pack(&job, &leave).letters()) else { panic!("it opens") };
        prop_assert_eq!(&fingerprint(&opened, &left.leave), &here);
        let with_photo = Job { photos: vec![Photo::default()], archived: true, ..job.clone() };
        prop_assert_eq!(&fingerprint(&with_photo, &leave), &here);
        let other = Job { notes: format!("{} ", job.notes), ..job };
        prop_assert_ne!(fingerprint(&other, &leave).digits, here.digits);
    }
}
