//! Motion: state, equations, and one descent from the block to the finish.

pub mod corners;
pub mod course;
pub mod descend;
pub mod descent;
pub mod entry;
pub mod equations;
pub mod extremes;
pub mod guided;
pub mod launch;
pub mod pilot;
pub mod precision;
pub mod skids;
