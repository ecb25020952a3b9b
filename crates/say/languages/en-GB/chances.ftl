# A chance as cases in a hundred; never a bare none or all.

in-hundred = { $chance ->
    [most] more than 99 in 100
    [least] fewer than 1 in 100
   *[between] { $figure } in 100
}

# A chance in words, as the end of a sentence: cleaning up is …
likelihood = { $chance ->
    [almost-certain] almost certain
    [very-likely] very likely
    [likely] likely
    [rather] more likely than not
    [open] open: it could go either way
    [unlikely] unlikely
    [very-unlikely] very unlikely
    [hardly] hardly to be expected
   *[almost-no] almost impossible
}
