# What a language says of itself.

# On every page and paper of a language that no grinder has read; nothing here, for this one was.
read-by = { "" }
