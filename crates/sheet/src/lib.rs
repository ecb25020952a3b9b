//! The document that the command line, import, export and the JSON interface share.
