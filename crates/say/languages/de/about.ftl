# Was eine Sprache von sich sagt.

# Auf jeder Seite und jedem Papier.
read-by = Diesen deutschen Text hat noch kein Schleifer gelesen, dessen Muttersprache Deutsch ist. Im Zweifel gilt der englische.
