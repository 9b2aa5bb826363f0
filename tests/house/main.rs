//! The project itself: floors, dependencies, licences, README.

mod dependencies;
mod errors;
mod floors;
mod guide;
mod licences;
mod paths;
mod readme;
