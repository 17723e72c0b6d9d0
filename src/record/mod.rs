//! The CSV reports and the journal, durable.
