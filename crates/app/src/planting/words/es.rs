//! The planting sheet in Spanish.

use super::super::answer::{FeedSeasonAnswer, FitAnswer, Form, StandingAnswer};
use super::{ClimateWords, DeliveryWords, DrawingWords, HoleWords, OrchardWords, SheetWords};

pub(super) struct Spanish;

impl SheetWords for Spanish {
    fn title(&self, form: Form) -> &'static str {
        match form {
            Form::Garden => "Hoja de plantación: jardín",
            Form::Orchard => "Hoja de plantación: huerto",
        }
    }

    fn page(&self) -> fn(usize, usize) -> String {
        |page, of| format!("página {page} de {of}")
    }

    fn answer(&self, trees: &str, place: &str, when: &str, apart: &str, water: &str) -> String {
        format!(
            "{place}: plante {trees} {when}, a {apart} de distancia. Riegue al principio {water}."
        )
    }

    fn answer_no_week(&self, trees: &str, place: &str) -> String {
        format!(
            "{place}: ninguna semana de un año normal sirve para plantar {trees} en el suelo. Pregunte al vivero antes de plantar."
        )
    }

    fn answer_not_outdoors(&self, trees: &str, place: &str, reason: StandingAnswer) -> String {
        let why = match reason {
            StandingAnswer::TooCool => "Los veranos son demasiado frescos para que crezcan.",
            _ => "El invierno los mata.",
        };
        format!(
            "{place}: {trees} no pueden vivir al aire libre todo el año. {why} Téngalos en macetas y métalos dentro en invierno, o plántelos en un invernadero."
        )
    }

    fn not_these(&self, kinds: &str) -> String {
        format!(
            "No pueden quedarse al aire libre allí: {kinds}. Téngalos en macetas y métalos dentro en invierno."
        )
    }

    fn trees(&self, count: &str, one: bool) -> String {
        if one {
            "su árbol cítrico".to_owned()
        } else {
            format!("sus {count} árboles cítricos")
        }
    }

    fn span(&self, from: &str, to: &str) -> String {
        format!("del {from} al {to}")
    }

    fn any_week(&self) -> &'static str {
        "en cualquier semana del año"
    }

    fn or(&self, parts: &[String]) -> String {
        parts.join(" o ")
    }

    fn what_you_got(&self) -> &'static str {
        "Sus árboles"
    }

    fn tree_heads(&self, form: Form) -> [&'static str; 6] {
        match form {
            Form::Garden => [
                "Árbol",
                "Árboles",
                "Distancia",
                "De un muro",
                "Altura",
                "Al aire libre",
            ],
            Form::Orchard => [
                "Árbol",
                "Árboles",
                "En la fila",
                "Entre filas",
                "Altura",
                "Al aire libre",
            ],
        }
    }

    fn kind(&self, variety: &str, rootstock: &str, size: &str) -> String {
        if size.is_empty() {
            format!("{variety} sobre {rootstock}")
        } else {
            format!("{variety} sobre {rootstock}, {size}")
        }
    }

    fn standing(&self, standing: StandingAnswer) -> &'static str {
        match standing {
            StandingAnswer::Open => "sí",
            StandingAnswer::Covered => "sí, envuelto y cubierto en noches frías",
            StandingAnswer::TooCold => "no, inviernos demasiado fríos",
            StandingAnswer::TooCool => "no, demasiado fresco para crecer",
        }
    }

    fn winters(&self, limit: &str, lost: usize, of: usize, usual_low: &str) -> String {
        format!(
            "La madera madura se pierde por debajo de unos {limit} (de memoria). La noche más fría de un invierno normal tiene {usual_low}; {lost} de {of} inviernos bajan de ese límite."
        )
    }

    fn doubtful_edge(&self, young: usize, of: usize) -> String {
        format!(
            "En los dos primeros inviernos la madera es más tierna: {young} de {of} inviernos matarían un árbol joven sin cubrir."
        )
    }

    fn not_outdoors(&self, frost_free: &str) -> Vec<String> {
        let outdoors = if frost_free.is_empty() {
            "Téngalo a cubierto todo el año: es probable una helada en cualquier semana.".to_owned()
        } else {
            format!("Fuera solo {frost_free}, cuando no se esperan heladas.")
        };
        vec![
            format!("En maceta: de 20 a 40 litros, sustrato que drene bien, una talla mayor cada dos años (práctica común). {outdoors}"),
            "En invierno: luz, fresco y sin heladas, de 5 a 12 °C (de memoria). Riegue poco. Lejos de la calefacción.".to_owned(),
            "En invernadero: sin calefacción solo gana unos grados. Tenga calor para las noches más frías.".to_owned(),
        ]
    }

    fn does_not_ripen(&self) -> &'static str {
        "Los veranos son frescos: naranjas dulces y pomelos pueden quedar ácidos. Van mejor limones y mandarinas tempranas. Ayuda un muro cálido (de memoria)."
    }

    fn size_not_known(&self, rootstock: &str) -> String {
        format!(
            "No se sabe cuánto crecen los árboles sobre {rootstock}. Se les da la distancia de árboles medianos."
        )
    }

    fn when(&self) -> &'static str {
        "Cuándo plantar"
    }

    fn when_why(&self, windows: &str, start: &str) -> String {
        format!(
            "Plante {windows}: el suelo está cálido (15 °C o más, de memoria) y no se espera helada en doce semanas. Esta hoja cuenta desde el {start}."
        )
    }

    fn start_not_good(&self, start: &str, why: FitAnswer) -> String {
        let why = match why {
            FitAnswer::Good => return String::new(),
            FitAnswer::Frost => "es probable una helada antes de que el árbol haya agarrado",
            FitAnswer::ColdSoil => "el suelo está demasiado frío para las raíces",
            FitAnswer::HotDry => "hace calor y está seco",
        };
        format!("Esta hoja cuenta desde el {start}. No es una buena semana: {why}.")
    }

    fn no_week(&self) -> &'static str {
        "Aquí ninguna semana de un año normal sirve para plantar en el suelo."
    }

    fn not_then(&self, span: &str, why: FitAnswer) -> String {
        let why = match why {
            FitAnswer::Good => "",
            FitAnswer::Frost => "es probable una helada antes de que el árbol haya agarrado",
            FitAnswer::ColdSoil => "el suelo está o pronto estará demasiado frío",
            FitAnswer::HotDry => "demasiado calor y sequedad",
        };
        format!("No {span}: {why}.")
    }

    fn how(&self) -> &'static str {
        "Cómo plantar"
    }

    fn steps(&self, of: &HoleWords<'_>) -> Vec<String> {
        vec![
            format!("Cave un hoyo de {} de ancho y {} de hondo: el doble del ancho del cepellón, no más hondo que él.", of.width, of.depth),
            if of.in_pot {
                "Riegue el árbol, sáquelo de la maceta y suelte las raíces que dan vueltas.".to_owned()
            } else {
                "Riegue el cepellón. Deje la tela hasta que el árbol esté en el hoyo.".to_owned()
            },
            format!("Póngalo de modo que la parte alta del cepellón quede {} sobre el suelo. El injerto queda entonces a unos {}; debe quedar siempre {} o más por encima de suelo y acolchado. No lo entierre nunca.", of.above, of.union, of.union_least),
            format!("Mezcle {} de abono recubierto con el suelo junto al cepellón, no contra las raíces. Rellene con el mismo suelo.", of.planting),
            format!("Forme un alcorque de {} de ancho. Riegue enseguida con {}, dos veces.", of.basin, of.liters),
            format!("Ponga acolchado de {} a {} de grueso, a {} a {} del tronco.", of.mulch.0, of.mulch.1, of.mulch_free.0, of.mulch_free.1),
            "Pinte el tronco con látex blanco, 1 a 1 con agua, o envuélvalo: la corteza se quema al sol. Tutor solo si hay viento.".to_owned(),
        ]
    }

    fn spacing(&self) -> &'static str {
        "A qué distancia"
    }

    fn spacing_garden(&self, apart: &str, wall: &str, height: &str) -> String {
        format!(
            "Plante a {apart} entre árboles y a {wall} de muros y caminos. Crecen hasta unos {height}; pódelos a una altura que alcance."
        )
    }

    fn spacing_orchard(&self, of: &OrchardWords<'_>) -> String {
        format!(
            "{}: {}; de {} a {} en la fila es razonable. {} filas de {} árboles, {} en la última; filas de {}; {} sin cabeceras. Manténgalos por debajo de {} para que el sol llegue a la fila siguiente.",
            of.kind,
            of.per_area,
            of.range.0,
            of.range.1,
            of.rows,
            of.trees_a_row,
            of.in_last,
            of.row,
            of.ground,
            of.keep
        )
    }

    fn water(&self) -> &'static str {
        "Riego del primer año"
    }

    fn water_lead(&self, soil: &str, ball: &str) -> String {
        format!(
            "Calculado con el sol, el calor y la lluvia de este lugar, {soil}, y un cepellón de {ball} que va echando raíces. En tiempo seco:"
        )
    }

    fn water_heads(&self) -> [&'static str; 4] {
        [
            "Desde",
            "Riegue",
            "Cada vez, por árbol",
            "Con la lluvia normal, veces por semana",
        ]
    }

    fn every(&self, least: u32, most: u32) -> String {
        match (least, most) {
            (0, 0) => "dos veces al día".to_owned(),
            (0 | 1, 1) => "cada día".to_owned(),
            (7, 7) => "más o menos cada semana".to_owned(),
            (one, other) if one == other => format!("cada {one} días"),
            (one, other) => format!("cada {one} a {other} días"),
        }
    }

    fn water_notes(&self, years: [&str; 3], rain_known: bool) -> Vec<String> {
        let mut notes = vec![
            "Toque el suelo a un dedo de hondo antes de regar. Las hojas mojadas de noche y el agua estancada hacen daño.".to_owned(),
            format!("Semana más seca, por árbol: {} el primer año, {} el segundo, {} el tercero.", years[0], years[1], years[2]),
        ];
        if !rain_known {
            notes.push("No se conoce la lluvia de este lugar y no se cuenta ninguna.".to_owned());
        }
        notes
    }

    fn soil(&self, soil: &str) -> String {
        let named = match soil {
            "sand" => "suelo arenoso",
            "loamy sand" => "suelo arenoso franco",
            "sandy loam" => "suelo franco arenoso",
            "loam" => "suelo franco",
            "silt loam" => "suelo franco limoso",
            "silt" => "suelo limoso",
            "silty clay loam" => "suelo franco arcillo-limoso",
            "silty clay" => "suelo arcillo-limoso",
            "clay" => "suelo arcilloso",
            other => return format!("suelo {other}"),
        };
        named.to_owned()
    }

    fn feed(&self) -> &'static str {
        "Abono"
    }

    fn feed_heads(&self, winter: &str, second: &str, second_is: FeedSeasonAnswer) -> [String; 4] {
        let season = match second_is {
            FeedSeasonAnswer::EndOfWinter => "Fin del invierno",
            FeedSeasonAnswer::EarlySummer => "Principio del verano",
            FeedSeasonAnswer::EndOfSummer => "Fin del verano",
        };
        [
            "Por árbol".to_owned(),
            format!("Fin del invierno, hacia el {winter}"),
            format!("{season}, hacia el {second}"),
            "Nitrógeno".to_owned(),
        ]
    }

    fn feed_at_planting(&self, months: &str, percent: &str) -> String {
        format!("Al plantar: recubierto, {months} meses, {percent} % de nitrógeno")
    }

    fn feed_year(&self, year: usize) -> String {
        if year >= 4 {
            "Año 4 y siguientes".to_owned()
        } else {
            format!("Año {year}")
        }
    }

    fn feed_notes(&self, months: &str, until: &str, percent: &str) -> Vec<String> {
        vec![
            format!(
                "El abono recubierto de {months} meses según su etiqueta dura aquí hasta {until}, más o menos: el suelo cálido lo vacía antes (Jacobs 2005)."
            ),
            format!(
                "Los abonos posteriores se cuentan con {percent} % de nitrógeno. Con otra parte, dé el mismo nitrógeno. Repártalo bajo las hojas de fuera, lejos del tronco, y riegue. Demasiado quema las raíces."
            ),
        ]
    }

    fn late_feed(&self, left_out: Option<&str>) -> String {
        match left_out {
            Some(odds) => format!("Sin abono al fin del verano: aquí la helada alcanza sus brotes tiernos en {odds} de 10 años."),
            None => "Si el invierno llega pronto, deje el abono del fin del verano: los brotes tiernos se hielan primero.".to_owned(),
        }
    }

    fn care(&self) -> &'static str {
        "Los primeros años"
    }

    fn care_items(&self, union: &str) -> Vec<String> {
        vec![
            "Quite flores y frutos el primer año, y casi todos el segundo: el árbol necesita su fuerza para las raíces.".to_owned(),
            format!("Los brotes por debajo del injerto (a {union}) son chupones del patrón. Quítelos con la mano mientras son pequeños, todo el año."),
            "El primer año pode solo ramas rotas o cruzadas. Mantenga la hierba a 1 m.".to_owned(),
        ]
    }

    fn frost_items(&self, flush: usize, of: usize, covered: bool) -> Vec<String> {
        let mut items = Vec::new();
        if flush == 0 {
            items.push(format!("Heladas: ninguno de {of} inviernos mata aquí brotes tiernos. Atienda aun así al pronóstico."));
        } else {
            items.push(format!("Heladas: {flush} de {of} inviernos tienen una noche que mata brotes tiernos. En esas noches cubra los árboles jóvenes hasta el suelo; destápelos de día. El suelo desnudo y húmedo da calor."));
        }
        if covered {
            items.push("Cada invierno: envuelva el tronco hasta encima del injerto y tenga lista una cubierta. Quite la envoltura en primavera y mire si hay hormigas o podredumbre.".to_owned());
        }
        items
    }

    fn delivery(&self) -> &'static str {
        "Entrega y conservación en zanja"
    }

    fn delivery_items(&self, of: &DeliveryWords<'_>) -> Vec<String> {
        vec![
            format!(
                "Mire {} el día que llegan: número, etiquetas, injertos, raíces, plagas. Avise al vivero en dos días.",
                of.trees
            ),
            format!(
                "Téngalos a la sombra y sin viento, con el cepellón húmedo; plante en una semana. Si debe esperar, póngalos en una zanja a la sombra de {} de hondo, en suelo que drene, cepellones cubiertos y húmedos, injertos por encima del suelo, tres semanas como mucho (práctica común).",
                of.trench
            ),
            format!(
                "Tenga el agua puesta: {} para el primer día. Cuente con {} por árbol en la semana más seca del tercer año. Donde el abono va en el agua, ponga una válvula antirretorno.",
                of.liters, of.driest
            ),
        ]
    }

    fn cautions(&self) -> &'static str {
        "Cuidado"
    }

    fn caution_items(&self, form: Form) -> Vec<&'static str> {
        let mut items = vec![
            "Mover cítricos, esquejes o tierra puede estar prohibido o necesitar permiso. Las normas de la autoridad de sanidad vegetal van antes que esta hoja.",
            "La etiqueta de un producto es la ley. El consejo local y el análisis de suelo y hoja van antes que estas cifras. Donde el trabajo necesita licencia, acuda a quien la tiene.",
            "Espinas y cuchillos: use guantes y gafas. Vaya al médico si una espina entra en una articulación o un ojo.",
        ];
        if form == Form::Garden {
            items.push("Donde el abono va en la manguera, ponga una válvula antirretorno.");
        }
        items
    }

    fn sources(&self, climate: &str) -> String {
        format!(
            "{climate} Agua: FAO-56 con las raíces de un árbol joven. Hoyo: UC Master Gardeners. Distancias, injerto, acolchado, límites de frío, 50 g al plantar: práctica común, de memoria. Nitrógeno: NSW DPI 2004 (primer año), Guazzelli et al. y UF SL253 (segundo), Thompson et al. (siguientes)."
        )
    }

    fn climate(&self, of: &ClimateWords<'_>) -> String {
        let years = of.years;
        let memory = if of.from_memory { ", de memoria" } else { "" };
        match (of.city, of.distance) {
            (Some(city), Some(distance)) => format!(
                "Clima: medias mensuales de {city}{memory}, a {distance}; {years} años hechos con ellas, con extremos más suaves que los reales."
            ),
            (Some(city), None) => format!(
                "Clima: medias mensuales de {city}{memory}; {years} años hechos con ellas, con extremos más suaves que los reales."
            ),
            _ => format!(
                "Clima: medias mensuales tal como se dieron; {years} años hechos con ellas, con extremos más suaves que los reales."
            ),
        }
    }

    fn drawing(&self) -> &'static DrawingWords {
        &DRAWING
    }
}

static DRAWING: DrawingWords = DrawingWords {
    section: "Corte del hoyo",
    section_told: |width, depth, above| {
        format!(
            "Un corte por el hoyo: {width} de ancho, {depth} de hondo; la parte alta del cepellón {above} sobre el suelo; acolchado lejos del tronco."
        )
    },
    union_title: "Altura del injerto",
    union_told: |union| {
        format!("El injerto está a {union} sobre el suelo; los chupones por debajo se quitan.")
    },
    plan: "Plano de distancias",
    plan_told: |in_row, between| {
        format!("Árboles vistos desde arriba: {in_row} en la fila, {between} entre filas.")
    },
    ball: "cepellón",
    soil: "mismo suelo",
    mulch: "acolchado",
    basin: "alcorque",
    union: "injerto",
    sucker: "chupón: quítelo",
    surface: "suelo",
    scion: "variedad",
    rootstock: "patrón",
    row: "fila",
    wall: "muro",
};
