//! What a listener hears: the tags of a finished sheet in their order, read back from the PDF itself.
