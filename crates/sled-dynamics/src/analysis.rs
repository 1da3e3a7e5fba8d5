//! Analysis: what a descent did, corner by corner, and where its time went.

pub mod bow_contact;
pub mod bow_measures;
pub mod losses;
pub mod oscillation;
pub mod places;
pub mod safety;
pub mod sections;
