# Probabilidad como casos de cada cien; «97 de cada 100», nunca «97 de 100».

in-hundred = { $chance ->
    [most] más de 99 de cada 100
    [least] menos de 1 de cada 100
   *[between] { $figure } de cada 100
}

likelihood = { $chance ->
    [almost-certain] casi seguro
    [very-likely] muy probable
    [likely] probable
    [rather] más probable que improbable
    [open] incierto: puede pasar lo uno o lo otro
    [unlikely] improbable
    [very-unlikely] muy improbable
    [hardly] apenas de esperar
   *[almost-no] casi imposible
}
