//! What is laid beside the bench or sent to the client. Works from a finished scene of solids and their meshes; knows no
//! kernel operation.

pub mod clasp_picture;
pub mod clasp_report;
pub mod joint_picture;
pub mod line_picture;
pub mod mesh_report;
pub mod motion_report;
pub mod movers;
pub mod page;
pub mod part_walls;
pub mod picture;
pub mod plot;
pub mod report;
pub mod scene;
pub mod sheet;
pub mod wall_places;
pub mod whole;
