# Por qué algo no se hace ahora, y qué hacer. Lo que dice una hoja o un aviso va con sus propias palabras ($says).

as-told = { $says }

nothing-measured = Todavía no se ha medido nada.
chance-not-known = La probabilidad todavía se está calculando.
crack-stands = { $journal-is ->
    [main] Hay una grieta comunicada en el { $journal }. Mientras siga así, nada va al rectificado y nada sigue adelante. Haga que la juzgue una persona cualificada según el manual de taller.
   *[pin] Hay una grieta comunicada en la { $journal }. Mientras siga así, nada va al rectificado y nada sigue adelante. Haga que la juzgue una persona cualificada según el manual de taller.
}
cannot-be = { $found } no puede ser: se esperaba { $expected }; { $advice }.
no-micrometer = Este trabajo no tiene ningún micrómetro «{ $name }». Póngalo primero en uso para este trabajo.
no-such-journal = Este cigüeñal no tiene ese muñón.
crank-has-no = { $journal-is ->
    [main] Este cigüeñal no tiene ningún { $journal }.
   *[pin] Este cigüeñal no tiene ninguna { $journal }.
}

set-not-measured = Ese grupo no se ha medido, así que no se puede decidir.
no-decision = Así el grupo queda sin decidir: no es una decisión.
no-such-choice = Elija uno de los escalones u otra cosa que hacer.
say-why = Diga por qué: el motivo queda en el registro y en la hoja.
own-words = Hay algo en contra; está al principio del dictamen. Escriba con sus propias palabras por qué se sigue adelante.
doubtful-stands = { $says } Vuelva a mirarlo y corríjalo. Si es así, decida con un motivo en sus propias palabras; irá en la hoja.
stop-stands = { $says } Mientras siga así, nada va al rectificado. Si ya se ha resuelto, o si el cigüeñal se ha de rectificar de todos modos, decida cada grupo con un motivo en sus propias palabras; irá en la hoja.
left-open = { $why ->
    [heat] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: primero, ensayo de dureza y de grietas. Decida de nuevo, con un motivo.
    [bend] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: primero hay que resolver la flecha. Decida de nuevo, con un motivo.
    [readings] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: vuelva a mirar las lecturas. Decida de nuevo, con un motivo.
    [bigger-than-new] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: mayor que nuevo, mida otra vez. Decida de nuevo, con un motivo.
    [too-close] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: no se puede decidir, mida otra vez. Decida de nuevo, con un motivo.
    [too-little] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: mida primero lo que falta. Decida de nuevo, con un motivo.
    [two-sizes] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: hay muñones de medidas distintas, pregunte por qué. Decida de nuevo, con un motivo.
   *[wear-limit] { $set-start }: se había decidido, pero el dictamen lo deja ahora abierto: busque el límite de servicio en el manual de taller. Decida de nuevo, con un motivo.
}
set-not-decided = { $set-start }: todavía sin decidir.
build-up-before-grinding = { $set-start }: primero hay que recargar, solo si el fabricante lo permite; después mida de nuevo y decida.
given-up-no-sheet = { $set-start }: no se rectifican, así que no hay hoja.
nothing-to-grind = No se rectifica ningún grupo, así que no hay hoja que emitir.
another-plan = El plan no dice lo que se decidió.
grinder-is-next = Hay un grupo que rectificar; lo siguiente es el rectificado.

job-archived = El trabajo { $job } está archivado.
job-signed-off = El trabajo { $job } está firmado. Vuelva a abrirlo primero.
away-already = El trabajo { $job } ya está fuera, en el lote { $batch }.
not-ground = El trabajo { $job } está en «{ $stage }»: el cigüeñal todavía no está rectificado.
which-batch = Elija el lote en el que va.
not-away = El trabajo { $job } no está fuera.
away-in-another = El trabajo { $job } está fuera en el lote { $batch }, no en este.
stage = { $stage ->
    [booked-in] Recibido
    [measuring] Midiendo
    [to-decide] Por decidir
    [at-the-grinder] En rectificado
    [at-treatment] En tratamiento
    [final-check] Control final
    [ready] Listo
   *[collected] Recogido
}

archived-not-signed = El trabajo está archivado. Sáquelo primero del archivo.
nothing-decided = { $set-start }: todavía no hay nada decidido.
given-up = { $set-is ->
    [main] { $set-start }: se han dado por perdidos. Un cigüeñal no apto para el uso no se firma.
   *[pin] { $set-start }: se han dado por perdidas. Un cigüeñal no apto para el uso no se firma.
}
to-be-built-up = { $set-start }: hay que recargar antes de seguir. Después, decida el escalón.
at-treatment = Está fuera, en tratamiento.
nobody-said = { $journal-start }: nadie ha dicho si quedó limpio al rectificar.
not-cleaned-up = { $journal-is ->
    [main] { $journal-start }: no quedó limpio al rectificarlo.
   *[pin] { $journal-start }: no quedó limpia al rectificarla.
}
spots-not-measured = { $count ->
    [one] Falta medir 1 punto.
   *[other] Faltan por medir { $count } puntos.
}
spot = { $station ->
    [front] { $journal }, delante, a través { $across }
    [middle] { $journal }, centro, a través { $across }
   *[rear] { $journal }, detrás, a través { $across }
}
too-old = { $why ->
    [sheet-replaced] con una hoja que fue sustituida
    [ground-again] antes de volver a rectificar
   *[treated-since] antes de volver del tratamiento
}
reading-too-old = { $spot-start }: la lectura se tomó { $why }.
at-spot = { $spot-start }: { $says }
form-over = { $form ->
    [taper] { $journal-start }: conicidad { $found }, más que { $limit }, el límite del manual de taller.
   *[out-of-round] { $journal-start }: ovalización { $found }, más que { $limit }, el límite del manual de taller.
}
too-rough = { $journal-start }, { $at }: rugosidad Ra { $found }, más que { $limit }, el límite del manual de taller.
eye-item = { $item ->
    [radius] radio de acuerdo
    [oilways-open] conductos de aceite abiertos
    [plugs-refitted] tapones montados
    [crack-test] ensayo de grietas
    [demagnetised] desmagnetizado
    [finish] acabado
    [stamp] marca grabada
    [straightness] rectitud
   *[other] { $text }
}
eye-not-answered = { $item-start }: sin respuesta.
eye-not-passed = { $item-start }: no conforme.
eye-must-be-done = { $item-start }: sin hacer, y es obligatorio.
signed-already = El trabajo ya está firmado.
not-said = Márquelo para firmar sin esto: { $left-out }
handed-over-already = El cigüeñal ya se ha entregado.
not-signed-off = El cigüeñal no está firmado, así que no se entrega.
nothing-signed = El trabajo no está firmado.
why-reopened = Diga por qué se vuelve a abrir.
ready-by-signing = Un trabajo está listo cuando se firma su control final, no por moverlo.
collected-by-handing-over = Un trabajo está recogido cuando se entrega el cigüeñal, no por moverlo.

not-signed-one = Sin firmar. { $says }
not-signed-many = { $count ->
    [one] Sin firmar: hay 1 cosa en contra.
   *[other] Sin firmar: hay { $count } cosas en contra.
}

do-measure = Mida primero.
do-look-again = Vuelva a mirar el dictamen dentro de un momento.
do-after-a-crack = A una grieta nunca se responde con un motivo. Si se comunicó por error, corrija primero esa línea.
do-put-right = Corríjalo en Medir o en Datos del trabajo.
do-change-marked = Cambie lo que está marcado y guarde.
do-choose-with-reason = Elija qué hacer y escriba el motivo.
do-choose-of = Hay: { $choices }.
do-write-reason = Elija un motivo, o escríbalo en pocas palabras.
do-on-the-sheet = Va en la hoja de rectificado.
do-settle-at-verdict = Resuélvalo en el dictamen, o decida cada grupo con un motivo; a una grieta nunca se responde así.
do-to-final-check = Vaya directamente al control final.
do-take-the-plan = Tome el plan del trabajo tal como está decidido ahora.
do-issue-sheet = Emita la hoja de rectificado.
do-count-from-nose = Cuente los muñones desde el lado de la polea: main 1, pin 2.
do-out-of-archive = Sáquelo primero del archivo.
do-reason-there = Dé allí el motivo.
do-take-back-first = Recíbalo primero, o sáquelo de ese lote.
do-grind-first = Haga que se rectifique primero.
do-open-batch = Abra primero el lote, si es nuevo.
do-look-at-history = Mire su historial.
do-look-at-batch = Mire el código del lote.
do-at-final-check = Corríjalo en el control final y firme después.
do-reopen = Vuelva a abrirlo primero, con un motivo.
do-say-left-out = Diga en la frase que se firma lo que no se ha hecho.
do-undo-first = Deshaga eso primero si es un error.
do-finish-final-check = Termine primero el control final.
do-go-on = No hay nada que volver a abrir; siga adelante.
do-next-revision = La próxima revisión lleva el motivo.
do-finish-and-sign = Termine el control final y firme.
do-sign-and-hand-over = Firme el control final y entregue el cigüeñal.
