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
mod on_the_line;
pub mod pilot;
pub mod precision;
pub mod push;
pub mod skids;
