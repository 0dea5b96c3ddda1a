//! Papeles en español.

use documents::PaperWords;

use super::{Availability, Beds, Budding, Common, Dispatch, Labels, Week, Words};

pub(super) const WORDS: Words = Words {
    layout: PaperWords {
        language: "es",
        page: |page, of| format!("página {page} de {of}"),
        write: "casilla para escribir",
        tick: "casilla para marcar",
    },
    common: COMMON,
    week: WEEK,
    beds: BEDS,
    budding: BUDDING,
    dispatch: DISPATCH,
    availability: AVAILABILITY,
    labels: LABELS,
};

/// So many of a thing, with its name in one or many.
fn of(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

const COMMON: Common = Common {
    nursery: "Su vivero",
    on: |variety, rootstock| format!("{variety} sobre {rootstock}"),
    stage: |stage| {
        Some(match stage {
            "seedling" => "plántulas",
            "liner" => "portainjertos",
            "missed" => "fallados",
            "budded" => "injertados",
            "finished" => "árboles terminados",
            _ => return None,
        })
    },
    work: |operation| {
        Some(match operation {
            "sow" => "Sembrar",
            "line_out" => "Trasplantar a las hileras",
            "pot_up" => "Pasar a maceta",
            "buy_in" => "Comprar portainjertos",
            "bud" => "Injertar",
            "cut_sticks" => "Cortar varetas",
            "unwrap" => "Quitar la cinta y contar prendimiento",
            "force" => "Forzar la yema",
            "lift" => "Sacar y pasar a maceta",
            "over_age" => "Usar, vender o desechar lo pasado de edad",
            "sample" => "Analizar el árbol madre",
            "hold" => "Retenido",
            _ => return None,
        })
    },
    lot: "Lote",
    place: "Lugar",
    plants: "Plantas",
    plant: "Planta",
    variety: "Variedad",
    size: "Tamaño",
    stage_head: "Etapa",
    customer: "Cliente",
    order: "Pedido",
    line: "Línea",
    date: "Fecha",
    total: "Total",
    done: "Hecho",
    counted: "Contadas",
    mother_tree: "Árbol madre",
    held: "retenido",
};

const WEEK: Week = Week {
    name: "Esta semana",
    title: |week, crew| match crew {
        Some(crew) => format!("Semana {week}, {crew}"),
        None => format!("Semana {week}, todo el trabajo"),
    },
    answer: |jobs, hours, slipped| {
        let late = match slipped {
            0 => String::new(),
            1 => "; 1 quedó de semanas anteriores".to_owned(),
            _ => format!("; {slipped} quedaron de semanas anteriores"),
        };
        format!("{}, {hours} horas{late}.", of(jobs, "trabajo", "trabajos"))
    },
    none: "No hay nada que hacer esta semana.",
    job: "Trabajo",
    why: "Por qué ahora",
    to_do: "Por hacer",
    hours: "Horas",
    without_place: "En otra parte",
    for_stock: "para existencias",
    for_line: |line, customer, trees, due| {
        let whose = customer.map_or_else(String::new, |it| format!(", {it}"));
        let due = due.map_or_else(String::new, |it| format!(", para el {it}"));
        format!("{line}{whose} ({trees}){due}")
    },
    late: |week| format!("Atrasado: tocaba en {week}."),
    waits: "Espera: sus plantas aún no están.",
    until: |week| format!("A más tardar en {week}."),
    could_not: |by, text| format!("{by} no pudo: {text}"),
    is_of_answers: false,
    because: |operation| match operation {
        "cut_sticks" => "Hacen falta para injertar o guardar.",
        "unwrap" => "Las yemas llevan vendadas el tiempo que piden.",
        "force" => "Las yemas han prendido.",
        "over_age" => "Lleva lista más de lo que puede esperar.",
        "sample" => "Su análisis vence pronto o ya venció.",
        "hold" => "Una retención lo alcanza.",
        _ => "",
    },
    supplies: "Para llevar",
    supply: "Qué",
    amount: "Cuánto",
    supply_name: |supply| {
        Some(match supply {
            "seed" => "semillas",
            "bud" => "yemas",
            "liner" => "portainjertos comprados",
            _ => return None,
        })
    },
    could_not_head: "No se pudo hacer, porque …",
    sticks: |sticks, buds| format!("{sticks} varetas\n{buds} yemas"),
    tools: "Herramientas",
    closed: "Cerrado tras un tratamiento",
    closed_after: |place, product, until| {
        format!("{place}: nadie entra hasta que pase el {until} ({product}).")
    },
    weather: "Tiempo de los próximos días",
    day: "Día",
    lowest: "Mínima",
    highest: "Máxima",
    rain: "Lluvia",
    reason: "Motivo",
    how_to: "Los trabajos siguen el orden del recorrido. Escriba lo contado en la casilla de cada lote y anótelo por la tarde.",
};

const BEDS: Beds = Beds {
    name: "Plano de canteros",
    title: "Plano de canteros",
    answer: |places, lots, plants| {
        format!(
            "Hay {plants} plantas en {}, en {}.",
            of(lots, "lote", "lotes"),
            of(places, "lugar", "lugares")
        )
    },
    none: "No hay plantas.",
    number: "N.º",
    growing: "Creciendo",
    ready: "Listas",
    since: "Desde",
    expected: "La mitad lista en",
    picture: |place, area| match area {
        Some(area) => format!("{place}, {area}"),
        None => place.to_owned(),
    },
    shows: |lots, taken, free| {
        let free = free.map_or_else(String::new, |it| format!("; quedan {it} libres"));
        format!("{} ocupan {taken}{free}.", of(lots, "lote", "lotes"))
    },
    free: "libre",
    scale: "El ancho está a escala según el área: cada lote ocupa lo que piden sus plantas en su etapa. Los lotes siguen el orden en que llegaron.",
};

const BUDDING: Budding = Budding {
    name: "Lista de injertación",
    title: |week| format!("Lista de injertación, semana {week}"),
    answer: |jobs, stocks, sticks| {
        format!(
            "{}: {stocks} pies por injertar, {sticks} varetas por cortar.",
            of(jobs, "injertación", "injertaciones")
        )
    },
    none: "Esta semana no hay nada que injertar ni varetas que cortar.",
    stocks: "Pies",
    buds: "Yemas",
    budder: "Injertador",
    set: "Puestas",
    sticks_heading: "Varetas por cortar",
    sticks: "Varetas",
    test_until: "Análisis válido hasta",
    cut: "Cortadas",
    no_sticks: "El plan no pide varetas esta semana.",
    may_not: "no cortar: retenido, o su análisis no vale",
    in_store: "Varetas guardadas",
    cut_on: "Cortadas el",
    buds_left: "Yemas que quedan",
    sticks_note: "Las varetas se cuentan con las yemas que suelen tener; corte más si son cortas.",
};

const DISPATCH: Dispatch = Dispatch {
    name: "Nota de entrega",
    title: |order| format!("Nota de entrega, pedido {order}"),
    free: |date| format!("Al {date}, ninguna retención alcanza a estos árboles."),
    held: "No enviar: una retención alcanza a árboles de esta nota.",
    lines: "Líneas",
    ordered: "Pedidos",
    sent: "Enviados hasta ahora",
    this_time: "Esta carga",
    due: "Para el",
    lots: "Lotes",
    loaded: "Cargados",
    health_class: "Clase sanitaria",
    budded: "Injertado el",
    origins: "Árboles madre de estos lotes",
    last_test: "Último análisis",
    result: "Resultado",
    usable_until: "Válido hasta",
    clean: "limpio",
    found: "algo hallado",
    untested: "sin análisis",
    other_origins: "Semillas, cortes y plantas compradas",
    holds: "Retenciones",
    holds_checked: |lots, trees, date| {
        format!(
            "{} y {} se revisaron frente a todas las retenciones de los libros el {date}.",
            of(lots, "lote", "lotes"),
            of(trees, "árbol madre", "árboles madre")
        )
    },
    hold_on: |of, since, reason| format!("{of} está retenido desde el {since}: {reason}"),
    permits: "Permisos y pasaportes, como se escribieron",
    no_permits: "No se escribió ninguno. Las reglas para mover plantas de cítricos cambian de un lugar a otro; pregunte a su oficina de sanidad vegetal.",
    loaded_by: "Cargado por, fecha",
    received_by: "Recibido por, fecha",
    no_lots: "Ningún lote está marcado para este pedido, y ninguno que sirva está listo.",
    sent_today: "Lotes enviados este día.",
    tagged: "Lotes marcados para este pedido.",
    proposed: "Nada está marcado aún: lotes que sirven y se pueden enviar. Escriba lo que cargue.",
};

const AVAILABILITY: Availability = Availability {
    name: "Lista de disponibilidad",
    title: "Árboles disponibles",
    answer: |kinds, date| {
        format!(
            "Se pueden ofrecer {} de árboles, al {date}.",
            of(kinds, "clase", "clases")
        )
    },
    none: "Ahora no se puede ofrecer ningún árbol.",
    now: "Listos ahora",
    by_end_of: |month| format!("A fines de {month}"),
    odds: |percent, futures| {
        format!(
            "Las cifras de los meses siguientes se pueden prometer con una probabilidad del {percent}\u{202f}% o mayor, según \
             {futures} futuros del plan de este vivero, y no rompen ninguna promesa anterior. Cada cifra vale por sí \
             sola: lo que se vende en un mes falta en el siguiente, y las clases que crecen de las mismas plantas las \
             comparten."
        )
    },
    without_odds: "Faltan los meses siguientes: vendrán cuando haya un plan con probabilidades.",
    subject: "Salvo venta previa. Los árboles se confirman con el pedido.",
    tree: "Árbol",
};

const LABELS: Labels = Labels {
    name: "Etiquetas",
    title: "Etiquetas",
    sheet: |sheet, of| format!("Hoja {sheet} de {of}"),
    sown: "sembrado",
    budded: "injertado",
    since: "desde",
    on: "sobre",
    order_line: |order, line, customer| format!("{order}/{line}, {customer}"),
};
