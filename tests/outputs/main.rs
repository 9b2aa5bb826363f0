//! What people see: report, comparison, sweeps, preview, the command line's contract.

#[path = "../plain/mod.rs"]
mod plain;
#[path = "../starter/mod.rs"]
mod starter;

mod check_baseline;
mod check_findings;
mod compare_projects;
mod contract;
mod device_states;
mod figure_table;
mod flow_map;
mod fonts_listed;
mod hostile_names;
mod json_names;
mod long_run;
mod preview_session;
mod preview_views;
mod render_flow;
mod report_figures;
mod report_filmstrip;
mod report_page;
mod sweep_figures;
mod sweep_plots;
mod timeline;
mod width;
mod words;
