//! temp
pub mod units; pub mod ids; pub mod body; pub mod diag; pub mod fields; pub mod template; pub mod print; pub mod brand; pub mod words; pub mod library; pub mod record; pub mod load; pub mod check; pub mod assess; pub mod safety; pub mod plan; pub mod word;
pub mod typeset;
