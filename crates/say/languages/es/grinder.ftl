# Lo que va primero en la hoja de rectificado, y por qué una hoja ya no es válida.

heading-crack = Grieta, { $journals }: no rectificar, enderezar ni montar
heading-scrap = No apto para el uso, { $sets }: no rectificar nada de este cigüeñal
heading-settle = Alto: resuelva esto antes de rectificar
heading-settle-bearings = Alto: resuelva esto antes de rectificar, pedir o montar nada
heading-look-again = Vuelva a mirar primero: lecturas de { $whose }
all-of-set = { $set-is ->
    [main] todos los { $set }
   *[pin] todas las { $set }
}
stop-answered = { $says } Decidido de todos modos por { $answer }.

change-choice = { $set-start }: cambio de { $from } a { $to }.
change-sizes = { $set-start }: han cambiado las medidas de trabajo.
change-decided = { $set-start }: decidido desde entonces.
change-no-longer-decided = { $set-start }: ya no está decidido.
change-readings = Desde entonces cambiaron lecturas o reglas del taller, pero ninguna medida de rectificado.
change-unknown = La escribió otro programa y no se puede comparar con lo que vale ahora.
choice-as-such = { $choice ->
    [leave] «dejar como está»
    [polish] «solo pulir»
    [build-up] «recargar»
    [scrap] «no apto para el uso»
    [standard] medida estándar
   *[not-decided] «sin decidir»
}
