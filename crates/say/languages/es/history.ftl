# Las líneas de un historial: lo que se hizo. Cada una puede ir detrás de «Deshacer:».

with-details = { $parts }
deed-place = { $has ->
    [both] { $journal }, { $at }, a través { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, a través { $plane }
   *[neither] { $journal }
}
deed-at = { $station ->
    [front] delante
    [middle] centro
    [rear] detrás
   *[other] { $text }
}
deed-size = { $source ->
    [gauge] { $size } del instrumento
    [paper] { $size } del papel
   *[typed] { $size }
}
nothing = nada
detail = { $what ->
    [depth] profundidad { $figure }
    [top] arriba { $figure }
    [bottom] abajo { $figure }
    [heights] { $figure }
    [total] comparador { $figure }
    [face_total] cara { $figure }
    [high] punto alto a { $figure }°
    [throw] radio del cigüeñal { $figure }
    [index] posición angular { $figure }°
    [marked] marcado { $figure }
    [wall] espesor de pared { $figure }
    [crush] apriete { $figure }
    [width] anchura { $figure }
    [rods] bielas { $figure }
    [housing] alojamiento { $figure }
    [front] delante { $figure }
    [rear] detrás { $figure }
   *[float] juego axial del cigüeñal { $figure }
}
damage-kind = { $kind ->
    [scoring] rayas
    [ridges] crestas
    [pitting] picaduras
    [rust] óxido
    [heat] calentamiento
    [pick-up] metal del cojinete adherido
    [crack] grieta
    [other] otro daño
   *[unknown] { $text }
}
decided-choice = { $choice ->
    [leave] dejar como está
    [polish] solo pulir
    [build-up] recargar
    [scrap] no apto para el uso
    [not-decided] sin decidir
   *[size] { $text }
}

deed-booked-in = { $of ->
    [both] recepción: { $crank } de { $customer }
    [crank] recepción: { $crank }
    [customer] recepción: un cigüeñal de { $customer }
   *[neither] recepción: un cigüeñal
}
deed-reading = { $size } en { $place }
deed-run-out = descentramiento { $size } (lectura total del comparador) en { $journal }
deed-trace = { $count ->
    [one] un trazado de 1 desviación en { $place }
   *[other] un trazado de { $count } desviaciones en { $place }
}
deed-centre = el centro de { $journal }
deed-damage = { $kind } en { $place }
deed-worn = desgaste de { $journal }: { $share }
deed-stamped = { $whose }: marca { $undersize }
deed-housing = alojamiento de { $place }: { $size }
deed-housing-place = { $has ->
    [both] { $journal }, { $at }, { $plane }
    [at] { $journal }, { $at }
    [plane] { $journal }, { $plane }
   *[neither] { $journal }
}
deed-shell = semicojinete de { $whose }
deed-shells = { $count } × semicojinete de { $whose }
deed-bearing = cojinete de { $journal }
deed-thrust = cojinete de empuje en { $journal }
deed-roughness = { $when ->
    [after] rugosidad Ra { $ra } en { $place }, con el trabajo terminado
   *[before] rugosidad Ra { $ra } en { $place }
}
deed-lay = { $lay ->
    [around] estrías alrededor
    [along] estrías a lo largo
    [crossed] estrías cruzadas
   *[other] estrías: { $text }
}
deed-dial = { $count ->
    [one] comparador en { $journal }, 1 lectura
   *[other] comparador en { $journal }, { $count } lecturas
}
deed-height = alturas de { $journal }
deed-feature = comparador en: { $name }
deed-case = profundidad de la capa dura, { $whose }: { $depth }
deed-carried = cigüeñal en prismas bajo { $mains }
deed-carried-centres = cigüeñal entre puntos
of-the-engine = motor
of-the-crank = cigüeñal
deed-instrument = micrómetro { $name }
deed-instrument-unnamed = micrómetro sin nombre
deed-micrometer-changed = cambio a { $name }
deed-zero = { $at ->
    [start] cero de { $name } al empezar: { $reads }
    [change] cero de { $name } al cambiar: { $reads }
   *[end] cero de { $name } al terminar: { $reads }
}
deed-flag = volver a mirar: { $says }
deed-flag-about = volver a mirar { $what }: { $says }
deed-settled = { $how ->
    [kept] se mantiene: { $what }
    [struck-out] se tacha: { $what }
    [again] se tacha: { $what }, medido otra vez
   *[again-as] se tacha: { $what }, medido otra vez: { $new }
}
deed-noted = observación anotada
the-remark = la observación
a-spot = un punto
deed-again = { $found ->
    [agrees] segunda lectura { $size } en { $place }: coincide
    [clashes] segunda lectura { $size } en { $place }: no coincide
   *[settles] tercera lectura { $size } en { $place }: lo resuelve
}
deed-policy = cómo se juzga este trabajo: { $says }
deed-wanted = holguras deseadas: { $says }
deed-wanted-of-manual = holguras deseadas: las del manual de taller
deed-decision = decisión para { $set }: { $choice }
deed-decision-overruled = decisión para { $set }: { $choice }, distinta de la regla del taller: { $reason }
deed-sheet = hoja de rectificado { $code }
deed-sheet-replacing = hoja de rectificado { $code }, en lugar de { $old }
deed-while-grinding = al rectificar: { $reading }
deed-cleaned-up = quedó limpio al rectificar: { $journal }
deed-not-cleaned-up = sin limpiar al rectificar: { $journal }
deed-not-cleaned-up-left = sin limpiar al rectificar: { $journal }: { $left }
deed-sent = { $count ->
    [0] envío a tratamiento en el lote { $batch }
    [one] envío a tratamiento en el lote { $batch }, con 1 medida
   *[other] envío a tratamiento en el lote { $batch }, con { $count } medidas
}
deed-back = { $count ->
    [0] vuelta del tratamiento en el lote { $batch }
    [one] vuelta del tratamiento en el lote { $batch }, con 1 medida
   *[other] vuelta del tratamiento en el lote { $batch }, con { $count } medidas
}
deed-final = control final: { $reading }
deed-looked = { $passed ->
    [yes] { $item }: conforme, visto por { $who }
   *[no] { $item }: no conforme, visto por { $who }
}
deed-looked-says = { $passed ->
    [yes] { $item }: conforme, visto por { $who }: { $says }
   *[no] { $item }: no conforme, visto por { $who }: { $says }
}
deed-signed = firma: { $says }
deed-reopened = reapertura: { $reason }
deed-handed-over = entrega a { $to }
deed-moved = paso a «{ $stage }»
deed-archived = archivado: { $reason }
deed-out-of-archive = sacado del archivo
deed-note = nota: { $says }
deed-photograph = fotografía: { $caption }
deed-photograph-of = fotografía de { $journal }: { $caption }
deed-undo = deshecho: { $what }
deed-undo-unknown = una anotación deshecha
an-undo = un deshacer

undo = Deshacer: { $what }
put-back = Restablecer: { $what }
put-back-unknown = Restablecer lo deshecho
