//! Numbers from outside the project: the pure core against published sources, one file a source,
//! and properties that must hold for any run.
//!
//! Each value carries a mark:
//!
//! - **S** seen in the source, or in a published text that quotes it;
//! - **R** recalled, and reproduced by a calculation that is not ours;
//! - **M** from memory only;
//! - **D** derivable exactly from definitions, so that no source is needed.
//!
//! A published value agrees when it lies within half a unit of its last printed digit
//! ([`printed::agrees`]); where a source rounded on the way, a comment says so, and where leverarm
//! departs from a source on purpose, the comment begins with DIFFERENCE.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod printed;
mod sample;

mod differential_sample;
mod ea_4_02;
mod grubbs_1969;
mod gum_4_4;
mod gum_7_2_6;
mod gum_g_4_1;
mod gum_h_1;
mod gum_h_2;
mod gum_h_3;
mod gum_h_5;
mod ilac_g8;
mod ilac_g8_risk;
mod iso_5725_2;
mod iso_80000_1;
mod jcgm_101_6_4;
mod jcgm_101_7_9_2;
mod jcgm_101_9_2_2;
mod jcgm_101_9_2_3;
mod jcgm_101_9_2_4;
mod jcgm_101_9_3;
mod jcgm_101_9_4;
mod jcgm_101_9_5;
mod jcgm_101_trials;
mod jcgm_106;
mod jcgm_106_global_risk;
mod jjg_707_example;
mod low_pass_lag;
mod managed_guard_band;
mod nist_ehandbook;
mod nist_sp_811;
mod nist_strd;
mod nist_strd_linear;
mod nist_tn_1297;
mod nmisa_workshop;
mod permissible_deviations;
mod properties;
mod properties_of_rules;
mod properties_of_the_floor;
mod roeske_2014;
mod trade_facts;
