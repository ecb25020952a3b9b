# Wahrscheinlichkeit als Fälle von hundert; nie als Prozent.

in-hundred = { $chance ->
    [most] mehr als 99 von 100
    [least] weniger als 1 von 100
   *[between] { $figure } von 100
}

likelihood = { $chance ->
    [almost-certain] so gut wie sicher
    [very-likely] sehr wahrscheinlich
    [likely] wahrscheinlich
    [rather] eher wahrscheinlich
    [open] offen: beides ist möglich
    [unlikely] unwahrscheinlich
    [very-unlikely] sehr unwahrscheinlich
    [hardly] kaum zu erwarten
   *[almost-no] so gut wie ausgeschlossen
}
