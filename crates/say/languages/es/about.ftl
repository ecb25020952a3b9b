# Lo que un idioma dice de sí mismo.

# En cada página y en cada papel.
read-by = Ningún rectificador de habla española ha leído todavía este texto. En caso de duda vale el inglés.
