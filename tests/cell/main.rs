//! Battery physics.

mod cell_capacitor;
mod cell_charging;
mod cell_life;
mod cell_peak;
mod cell_pulsed;
mod cell_references;
mod cell_tables;
