//! The project itself: floors, dependencies, licences, README.

mod dependencies;
mod floors;
mod licences;
mod readme;
