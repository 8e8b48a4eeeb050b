package headword

import (
	"slices"
	"strings"
	"unicode"

	"dropcut/plan/unit"
)

// Field names what a column of a Tanks or Devices sheet holds, in the words in
// which inspect prints it.
type Field string

// The fields of a Tanks sheet.
const (
	FieldTank              Field = "tank"
	FieldCompartment       Field = "compartment"
	FieldSite              Field = "site"
	FieldJob               Field = "job"
	FieldProduct           Field = "product"
	FieldNominal           Field = "nominal capacity"
	FieldCertified         Field = "certified capacity"
	FieldDiameter          Field = "inside diameter"
	FieldLength            Field = "length"
	FieldWidth             Field = "width"
	FieldShape             Field = "shape"
	FieldEndShape          Field = "end shape"
	FieldChart             Field = "chart"
	FieldChartUnits        Field = "chart units"
	FieldChartDepthUnit    Field = "depth unit of the chart"
	FieldChartVolumeUnit   Field = "volume unit of the chart"
	FieldPlace             Field = "place"
	FieldLimit             Field = "limit"
	FieldDevice            Field = "device"
	FieldFillPipeInstalled Field = "fill pipe installed"
	FieldLastInspection    Field = "last inspection"
	FieldRiserHeight       Field = "riser height"
	FieldRiserBore         Field = "riser bore"
	FieldFaceToBottom      Field = "face to bottom"
	FieldSeal              Field = "seal"
	FieldClearance         Field = "bottom clearance"
	FieldCutAngle          Field = "cut angle"
	FieldStrikerPlate      Field = "striker plate"
	FieldRise              Field = "rise end to end"
	FieldLowEnd            Field = "low end"
	FieldFillStation       Field = "fill station"
	FieldDipStation        Field = "dip station"
	FieldFreeArm           Field = "free space for the arm"
	FieldAsFoundUpper      Field = "as-found upper tube"
	FieldAlarmDepth        Field = "alarm depth"
	FieldVentRestrictor    Field = "vent restrictor"
	FieldDelivery          Field = "delivery"
	FieldTestVariant       Field = "test variant"
)

// The fields of a Devices sheet that a Tanks sheet has not.
const (
	FieldDeviceName     Field = "device name"
	FieldShutoffDrop    Field = "shutoff drop"
	FieldLeastBelowTop  Field = "least tube below tank top"
	FieldLeastUpper     Field = "least upper tube"
	FieldBodyLength     Field = "body length"
	FieldTubeDiameter   Field = "tube outside diameter"
	FieldLeastBore      Field = "least riser bore"
	FieldArmSpace       Field = "space the arm needs"
	FieldTestExtra      Field = "test extra"
	FieldLeastClearance Field = "least bottom clearance"
	FieldCutStep        Field = "cut step"
	FieldTestPressure   Field = "leak test ceiling"
	FieldStockUpper     Field = "stock upper tube"
	FieldStockLower     Field = "stock lower tube"
	FieldJoints         Field = "joints"
	FieldSource         Field = "source"
)

// Kind is how the cells of a field are read.
type Kind uint8

const (
	KindText Kind = iota
	KindLength
	KindVolume
	KindPercent
	KindDate
	KindAngle
	KindPressure
	KindLengthUnit
	KindVolumeUnit
	KindWord // one of a few words: seal, low end, yes or no, delivery
)

// FieldWords is one field with the headings it is known by in English, Spanish,
// French and German. Headings are folded (small letters, no accents, no unit
// words) and "of", "to", "the" and their like are left out, so that "Height of
// the riser" is "height riser". "=" before a phrase: only where nothing else
// stands in the heading. "+" before it: only where a unit stands beside it, so
// that "ID (in)" is a diameter and "ID" a name.
type FieldWords struct {
	Field          Field
	Kind           Kind
	en, es, fr, de string
}

// TankFields is the table of the headings of a Tanks sheet.
var TankFields = []FieldWords{
	{
		FieldTank, KindText,
		"=tank, =tank tank, tank id, tank no, tank name, tank tag, tank code, tank designation, tank ref, tank reference, =id, =tag, =tag no, =asset, asset id, asset no, =no tank, =vessel",
		"=tanque, =deposito, tanque no, no tanque, id tanque, codigo tanque, nombre tanque, deposito no, no deposito, id deposito",
		"=cuve, =reservoir, =citerne, no cuve, cuve no, id cuve, repere cuve, nom cuve, =repere, no reservoir, no citerne",
		"=tank, =behalter, =behaelter, tank no, tankno, tankname, tankbezeichnung, behalter no, behaelter no, behalterno, behalterbezeichnung, =bezeichnung, =lagertank",
	},
	{FieldCompartment, KindText, "compartment, compartment no, =comp, comp no, chamber", "compartimento, compartimiento", "compartiment", "kammer, kammer no, abteil"},
	{
		FieldSite, KindText,
		"site, site name, site id, site no, station name, =station, location, facility, facility name, store, store no, premises, branch, customer site, depot",
		"sitio, estacion, =estacion servicio, emplazamiento, ubicacion, instalacion, sede",
		"site, nom site, =station, =station service, emplacement, lieu, depot, etablissement",
		"standort, =station, anlage, tankstelle, niederlassung, betriebsstatte",
	},
	{
		FieldJob, KindText,
		"job, job no, job name, job id, work order, work order no, =wo, wo no, =order, order no, project, project no, ticket, visit",
		"trabajo, orden trabajo, no orden, =orden, obra, proyecto",
		"chantier, ordre travail, affaire, no affaire, intervention, projet",
		"auftrag, auftrag no, auftragsno, auftragsnummer, projekt, baustelle",
	},
	{
		FieldProduct, KindText,
		"product, fuel, fuel type, grade, fuel grade, product stored, stored product, =contents, =substance, substance stored",
		"producto, combustible, carburante, producto almacenado",
		"produit, carburant, combustible, produit stocke",
		"produkt, kraftstoff, kraftstoffsorte, sorte, medium, lagergut",
	},
	{
		FieldNominal, KindVolume,
		"capacity, cap, nominal capacity, nom capacity, nom cap, nominal cap, nominal volume, nominal size, rated capacity, rated cap, gross capacity, gross volume, total capacity, total volume, +size, +nominal, =volume, =gallons, =gallonage, =litres",
		"capacidad, capacidad nominal, capacidad total, cap nominal, volumen nominal, =volumen",
		"capacite, capacite nominale, capacite totale, contenance, volume nominal, =volume",
		"nennvolumen, nenninhalt, kapazitat, kapazitaet, fassungsvermogen, fassungsvermoegen, nennkapazitat, =volumen, =inhalt, =rauminhalt, +grosse",
	},
	{
		FieldCertified, KindVolume,
		"certified capacity, certified cap, certified volume, actual capacity, actual cap, actual volume, true capacity, measured capacity, calibrated capacity, strapped capacity, charted capacity, certificate capacity, =certified, =actual",
		"capacidad certificada, capacidad real, capacidad calibrada, volumen certificado, volumen real",
		"capacite certifiee, capacite reelle, capacite jaugee, volume certifie, volume reel",
		"geeichtes volumen, istvolumen, tatsachliches volumen, zertifiziertes volumen, wirkliches volumen, eichvolumen",
	},
	{
		FieldDiameter, KindLength,
		"inside diameter, internal diameter, inner diameter, inside dia, inside diam, internal dia, inner dia, diameter, dia, diam, diameter inside, diameter internal, inside height, internal height, +id, +height",
		"diametro interior, diametro interno, diametro, diam interior, diam, altura interior, +altura",
		"diametre interieur, diametre interne, diametre, diam interieur, diam int, diam, hauteur interieure, +hauteur",
		"innendurchmesser, durchmesser, innerer durchmesser, lichter durchmesser, innenhohe, innenhoehe, lichte hohe, +hohe",
	},
	{
		FieldLength, KindLength,
		"length, shell length, inside length, internal length, overall length, =long, =lg",
		"largo, longitud, longitud interior, largo interior",
		"longueur, longueur interieure, longueur virole",
		"lange, laenge, innenlange, tanklange, behalterlange, zylinderlange, mantellange",
	},
	{FieldWidth, KindLength, "width, inside width, internal width, breadth", "ancho, anchura, ancho interior", "largeur, largeur interieure", "breite, innenbreite, lichte breite"},
	{FieldShape, KindText, "shape, tank shape, geometry, orientation, tank type, =type", "forma, forma tanque, tipo tanque, =tipo", "forme, forme cuve, type cuve", "form, tankform, bauform, behalterform, =typ"},
	{
		FieldEndShape, KindText,
		"end shape, ends, end type, head, heads, head type, head shape, heads type, tank ends, shape ends",
		"fondos, tipo fondo, tipo fondos, forma fondos, cabezas", "fonds, type fonds, forme fonds, type fond", "boden, bodenform, bodenart, behalterboden, stirnboden",
	},
	{
		FieldChart, KindText,
		"chart, chart name, chart id, chart no, calibration chart, dip chart, strapping chart, gauge chart, chart sheet, chart used, calibration table, strapping table, dip table, =table",
		"tabla, tabla calibracion, tabla aforo, =carta, nombre tabla",
		"bareme, bareme jaugeage, table jaugeage, nom bareme, =table",
		"peiltabelle, tabelle, fulltabelle, eichtabelle, inhaltstabelle, name peiltabelle",
	},
	{FieldChartUnits, KindText, "chart units, chart unit, units chart, =units, =unit", "unidades tabla, =unidades", "unites bareme, =unites", "einheiten tabelle, =einheiten"},
	{
		FieldChartDepthUnit, KindLengthUnit,
		"depth unit, depth units, dip unit, dip units, unit depth, units depth, chart depth unit, chart depth units, height unit, length unit, level unit, stick unit",
		"unidad profundidad, unidad altura, unidad nivel", "unite hauteur, unite profondeur, unite niveau", "einheit tiefe, tiefeneinheit, einheit hohe, hoheneinheit, peileinheit, einheit peilung",
	},
	{
		FieldChartVolumeUnit, KindVolumeUnit,
		"volume unit, volume units, unit volume, units volume, chart volume unit, chart volume units, capacity unit, contents unit",
		"unidad volumen, unidad capacidad", "unite volume, unite capacite", "einheit volumen, volumeneinheit, einheit inhalt, inhaltseinheit",
	},
	{
		FieldPlace, KindText,
		"place, jurisdiction, state, rules, rule set, authority, regulation, regulations, code, country, place rules, which rules",
		"jurisdiccion, lugar, estado, normativa, reglamento, pais", "juridiction, reglement, reglementation, pays", "rechtsraum, zustandigkeit, vorschrift, vorschriften, bundesland, =land",
	},
	{
		FieldLimit, KindPercent,
		"limit, limit percent, fill limit, fill limit percent, legal limit, most fill, most fill percent, most percent, shutoff limit, shutoff percent, overfill limit, limit fill, percent limit, legal limit percent",
		"limite, limite llenado, limite percent, llenado maximo, limite legal", "limite, limite remplissage, limite percent, remplissage maximal, limite legale", "grenze, grenzwert, fullgrenze, grenze percent, fullungsgrad, most fullung, zulassiger fullungsgrad",
	},
	{
		FieldDevice, KindText,
		"device, shutoff device, shut off device, shutoff valve, shut off valve, overfill device, overfill valve, overfill prevention device, overfill prevention valve, overfill prevention, =valve, device name, =shutoff",
		"dispositivo, dispositivo cierre, valvula sobrellenado, valvula cierre, =valvula", "dispositif, limiteur remplissage, dispositif arret, =limiteur, vanne arret", "gerat, geraet, absperrgerat, absperreinrichtung, uberfullsicherung, ueberfuellsicherung, fullventil",
	},
	{
		FieldFillPipeInstalled, KindDate,
		"fill pipe installed, fill pipe date, fill pipe install date, fill pipe installation date, date fill pipe installed, date fill pipe, fill pipe installation, fill tube installed, drop tube installed, fill riser installed",
		"fecha tubo llenado, tubo llenado instalado, instalacion tubo llenado, fecha instalacion tubo llenado", "date tube remplissage, tube remplissage pose, tube remplissage installe, pose tube remplissage", "fullrohr eingebaut, einbau fullrohr, einbaudatum fullrohr, fuellrohr eingebaut, datum fullrohr",
	},
	{
		FieldLastInspection, KindDate,
		"last inspection, last inspected, inspection date, last inspection date, date last inspection, date inspected, last overfill inspection, inspected, last test, last tested",
		"ultima inspeccion, fecha inspeccion, fecha ultima inspeccion, ultima revision", "derniere inspection, date inspection, date derniere inspection, dernier controle", "letzte prufung, letzte pruefung, datum letzte prufung, prufdatum, letzte inspektion",
	},
	{
		FieldRiserHeight, KindLength,
		"riser height, riser, height riser, riser length, riser ht, fill riser height, fill riser, riser height face, tank top face, top tank face, top face, inside tank top face, inside tank top sealing face, tank top sealing face, riser top tank seal",
		"altura tubo subida, altura riser, altura cuello, techo tanque cara, altura tubo ascendente, tubo ascendente", "hauteur rehausse, hauteur colonne, rehausse, haut cuve face, hauteur cheminee, hauteur colonne montante", "steigrohrhohe, steigrohr, hohe steigrohr, stutzenhohe, hohe stutzen, domstutzenhohe, tankscheitel dichtflache, standrohrhohe",
	},
	{
		FieldRiserBore, KindLength,
		"riser bore, riser inside diameter, riser id, riser diameter, riser dia, riser inside dia, bore riser, inside diameter riser, riser size, riser internal diameter, nipple bore",
		"diametro interior tubo subida, diametro riser, diametro cuello", "diametre rehausse, diametre colonne, diametre interieur rehausse", "steigrohr innendurchmesser, innendurchmesser steigrohr, stutzendurchmesser, lichte weite stutzen",
	},
	{
		FieldFaceToBottom, KindLength,
		"face bottom, face tank bottom, sealing face bottom, sealing face tank bottom, overall face bottom, =overall, overall depth, seal bottom, face seal bottom, face floor, face btm, face to btm, face bot, bottom face, tank bottom face, overall bottom seal, bottom sealing face, total depth",
		"cara fondo, cara sello fondo, asiento fondo, fondo cara, profundidad total", "face fond, face joint fond, portee fond, fond face, profondeur totale", "dichtflache boden, dichtflache tankboden, dichtflaeche boden, gesamttiefe, boden dichtflache",
	},
	{
		FieldSeal, KindWord,
		"seal, seal type, face seal, sealing, seal arrangement, sealing face, kind seal, hangs",
		"sello, tipo sello, junta, tipo junta", "joint, type joint, etancheite", "dichtung, dichtungsart, art dichtung",
	},
	{
		FieldClearance, KindLength,
		"clearance, bottom clearance, clearance bottom, tube clearance, drop tube clearance, lower tube clearance, end clearance, wanted clearance",
		"holgura, holgura fondo, separacion fondo, distancia fondo", "garde fond, garde, degagement fond, distance fond", "bodenabstand, abstand boden, bodenfreiheit",
	},
	{FieldCutAngle, KindAngle, "cut angle, angle cut, end angle, =angle, lower end angle, lower tube angle, bevel, bevel angle", "angulo corte, =angulo, bisel", "angle coupe, =angle, biseau", "schnittwinkel, =winkel, schragschnitt, winkel schnitt"},
	{FieldStrikerPlate, KindLength, "striker plate, striker plate thickness, strike plate, =striker, wear plate", "placa choque, placa impacto, placa desgaste", "plaque impact, plaque usure, plaque choc", "prallplatte, prallblech, dicke prallplatte"},
	{
		FieldRise, KindLength,
		"rise, rise end, rise end end, end end rise, tilt, tilt end end, slope, out level, =level difference, high low",
		"desnivel, inclinacion, pendiente, desnivel extremos", "denivele, pente, inclinaison", "gefalle, neigung, hohenunterschied, gefaelle, schieflage",
	},
	{FieldLowEnd, KindWord, "low end, lower end, low side, which end low, which end lower", "extremo bajo, lado bajo", "extremite basse, bout bas, cote bas", "tiefes ende, tiefere seite, tiefe seite, tieferes ende"},
	{
		FieldFillStation, KindLength,
		"fill station, fill position, fill end, distance fill, fill distance, fill nearest end, fill riser end, fill riser station, fill location, fill distance nearest end",
		"posicion llenado, distancia llenado, boca llenado extremo", "position remplissage, distance remplissage, remplissage extremite", "fullstelle, position fullrohr, abstand fullrohr, fullrohr abstand ende",
	},
	{
		FieldDipStation, KindLength,
		"dip station, dip position, stick position, gauge position, gauge station, dip location, dip end, dip point, stick station, gauge end, distance dip",
		"posicion medicion, posicion varilla, distancia medicion", "position jauge, position jaugeage, distance jauge", "peilstelle, position peilrohr, abstand peilrohr",
	},
	{
		FieldFreeArm, KindLength,
		"free arm, free space arm, free length arm, free length, free space, arm space, arm room, arm clearance, clear length arm, clear arm, space arm",
		"espacio brazo, espacio libre, espacio libre brazo", "espace bras, espace libre, espace libre bras", "freiraum arm, freiraum, platz arm, freie lange, freiraum schwimmerarm",
	},
	{
		FieldAsFoundUpper, KindLength,
		"as found, as found upper tube, as found tube, as found length, as found upper, upper tube as found, upper tube found, existing tube, existing upper tube, present upper tube, upper tube now, existing upper, old upper tube, old tube, old upper",
		"tubo superior existente, tubo superior actual, tubo superior encontrado, encontrado", "tube superieur existant, tube superieur trouve, tube superieur actuel", "oberrohr vorhanden, vorhandenes oberrohr, oberes rohr vorgefunden, vorgefundenes oberrohr, oberrohr ist",
	},
	{
		FieldAlarmDepth, KindLength,
		"alarm, alarm depth, alarm set, alarm level, alarm height, alarm setting, alarm point, high alarm, high level alarm, high alarm depth, overfill alarm, high level alarm set",
		"alarma, nivel alarma, altura alarma, profundidad alarma", "alarme, niveau alarme, hauteur alarme, seuil alarme", "alarm, alarmhohe, alarmtiefe, alarmstand, hochstandalarm",
	},
	{
		FieldVentRestrictor, KindWord,
		"vent restrictor, flow restrictor, vent line restrictor, vent flow restrictor, vent line flow restrictor, ball float, ball float valve, float vent valve, vent restriction, vent ball",
		"restrictor venteo, flotador venteo, valvula flotador venteo", "restricteur event, limiteur event, clapet flotteur event", "entluftungsdrossel, luftungsdrossel, schwimmerventil entluftung, drossel entluftung",
	},
	{
		FieldDelivery, KindWord,
		"delivery, delivery type, delivery method, delivery gravity pressure, kind delivery, gravity pressure, pressurized delivery, pressure delivery, pumped delivery",
		"descarga, tipo descarga, entrega, tipo entrega", "livraison, type livraison, depotage, mode depotage", "anlieferung, befullung, art befullung, abgabe",
	},
	{FieldTestVariant, KindWord, "test variant, test fitting, test version, test port, test fitting fitted", "variante prueba, toma prueba", "variante essai, prise essai", "prufvariante, prufanschluss"},
}

// DeviceFields is the table of the headings of a Devices sheet.
var DeviceFields = []FieldWords{
	{FieldDeviceName, KindText, "device, device name, name, valve, shutoff device, shutoff valve, =type, =model, =id", "dispositivo, nombre, valvula", "dispositif, nom, vanne, limiteur", "gerat, geraet, name, bezeichnung, ventil"},
	{
		FieldShutoffDrop, KindLength,
		"shutoff drop, drop shutoff, shut off drop, =drop, drop seam, seam level, seam liquid level, seam liquid level shutoff, tube seam liquid level, tube seam liquid level shutoff, tube seam level shutoff, level below seam, shutoff below seam, seam shutoff, seam shutoff level",
		"caida cierre, costura nivel cierre, distancia cierre", "chute arret, distance arret, joint niveau arret", "abschalttiefe, abschaltmass, naht flussigkeitsspiegel, abstand abschaltpunkt",
	},
	{
		FieldLeastBelowTop, KindLength,
		"least tube below tank top, least below tank top, least below top, least tube below top, least upper tube below tank top, below tank top least, tube below tank top least, least seam below tank top",
		"least tubo bajo techo, least bajo techo tanque, least bajo techo", "least sous haut cuve, least tube sous haut cuve, least sous sommet", "least unter tankscheitel, least rohr unter tankscheitel",
	},
	{FieldLeastUpper, KindLength, "least upper tube, least upper tube length, least length upper tube, upper tube least, least upper, least tube", "least tubo superior", "least tube superieur", "least oberrohr, least oberes rohr"},
	{FieldBodyLength, KindLength, "body length, length body, =body, device length, length seam seam, seam seam, valve length, valve body length", "largo cuerpo, longitud cuerpo, =cuerpo", "longueur corps, =corps", "korperlange, koerperlaenge, gehauselange, baulange"},
	{FieldTubeDiameter, KindLength, "tube outside diameter, tube diameter, tube od, tube outside dia, outside diameter, outside diameter tube, drop tube diameter, drop tube outside diameter, +od, tube dia", "diametro exterior tubo, diametro exterior, diametro tubo", "diametre exterieur tube, diametre exterieur, diametre tube", "rohraussendurchmesser, aussendurchmesser, rohrdurchmesser"},
	{FieldLeastBore, KindLength, "least riser bore, riser bore least, least riser id, least riser inside diameter, least bore, riser bore, least riser diameter, least riser", "least diametro riser, least diametro tubo subida", "least diametre rehausse", "least steigrohr innendurchmesser, least stutzendurchmesser"},
	{FieldArmSpace, KindLength, "free space arm, arm space, space arm, free length arm, arm free space, free arm, arm clearance, arm length, room arm, free space, arm needs", "espacio brazo, espacio libre brazo", "espace bras, espace libre bras", "freiraum arm, freiraum schwimmerarm, platz arm"},
	{FieldTestExtra, KindLength, "test extra, extra test, test fitting extra, extra test fitting, test variant extra, extra upper tube test", "extra prueba", "supplement essai", "zuschlag prufung, prufzuschlag"},
	{FieldLeastClearance, KindLength, "least bottom clearance, least clearance, bottom clearance, clearance, least clearance bottom", "least holgura, least holgura fondo", "least garde, least garde fond", "least bodenabstand"},
	{FieldCutStep, KindLength, "cut step, step cut, =step, cut, cutting step, cut rounding", "paso corte", "pas coupe", "schnittstufe, schnittschritt"},
	{FieldTestPressure, KindPressure, "leak test ceiling, test pressure, leak test pressure, most test pressure, most leak test pressure, leak test, test pressure most, =pressure", "presion prueba, most presion prueba", "pression essai, most pression essai", "prufdruck, most prufdruck"},
	{FieldStockUpper, KindLength, "stock upper tube, stock upper, upper tube stock, upper stock, upper tube stock length, stock length upper tube, upper tube sold", "tubo superior stock, tubo superior comercial", "tube superieur stock", "oberrohr lager, lagerlange oberrohr"},
	{FieldStockLower, KindLength, "stock lower tube, stock lower, lower tube stock, lower stock, lower tube stock length, stock length lower tube, lower tube sold", "tubo inferior stock, tubo inferior comercial", "tube inferieur stock", "unterrohr lager, lagerlange unterrohr"},
	{FieldJoints, KindText, "joints, joints tank up, joint torques, joints torques, torques, torque, joint torque, joints torque", "juntas, pares, pares apriete", "joints, couples serrage, couples", "verbindungen, anzugsmomente, drehmomente"},
	{FieldSource, KindText, "source, data sheet, datasheet, document, reference, source document, sheet", "fuente, ficha tecnica, documento", "source, fiche technique, document", "quelle, datenblatt, dokument"},
}

// fillers are left out of a heading before it is compared.
var fillers = SetOf("of to the from at and a an on under for with by is or de del la las el los al y en con du des le les au aux et d un une der die das dem den des vom von zu zum zur am im und bis mit fur pour par sur its his it")

// unitTokens are left out of a heading too: which unit they name is for
// plan/unit to say.
var unitTokens = SetOf("percent in ins inch inches ft feet foot mm cm dm m gal gals gallon gallons l ltr litre litres liter liters litro litros m3 bbl barrel barrels us usg imp imperial uk psi kpa deg degrees degree pulgada pulgadas pulg pouce pouces zoll galones lbf nm")

// sameWords turns the usual short and other forms of a word into one.
var sameWords = map[string]string{
	"number": "no", "num": "no", "nr": "no", "numero": "no", "nummer": "no", "nbr": "no", "n": "no", "#": "no", "№": "no", "no.": "no", "nº": "no", "n°": "no",
	"min": "least", "minimum": "least", "minimal": "least", "minimale": "least", "minima": "least", "minimo": "least", "shortest": "least", "smallest": "least", "mindest": "least", "minimaler": "least", "minimales": "least",
	"max": "most", "maximum": "most", "maximal": "most", "maximale": "most", "maximaler": "most", "maxima": "most", "greatest": "most", "largest": "most", "highest": "most",
	"%": "percent", "pct": "percent", "percentage": "percent", "prozent": "percent", "porcentaje": "percent", "pourcentage": "percent",
	"capac": "capacity", "vol": "volume", "chts": "chart", "charts": "chart", "len": "length", "lgth": "length", "ht": "height", "hgt": "height", "dist": "distance", "pos": "position", "insp": "inspection",
}

// weakWords add little to a heading: "Tank diameter" is a diameter.
var weakWords = SetOf("tank tanque cuve reservoir behalter total measured field current given value approx est new")

func SetOf(words string) map[string]bool {
	set := make(map[string]bool)
	for w := range strings.FieldsSeq(words) {
		set[w] = true
	}
	return set
}

// HeadingWords gives the words of a heading that are compared.
func HeadingWords(s string) []string {
	s = unit.Fold(strings.ReplaceAll(s, "_", " "))
	s = strings.ReplaceAll(strings.ReplaceAll(s, "i.d", "id"), "o.d", "od")
	var all, words []string
	for _, w := range strings.FieldsFunc(s, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '%' && r != '#' && r != 'º' && r != '°' && r != '№'
	}) {
		if same, ok := sameWords[w]; ok {
			w = same
		}
		if fillers[w] || w == "°" {
			continue
		}
		all = append(all, w)
		if !unitTokens[w] {
			words = append(words, w)
		}
	}
	if len(words) == 0 {
		return all
	}
	return words
}

// phrase is one heading by which a field is known.
type phrase struct {
	words    []string
	exact    bool // nothing else may stand in the heading
	withUnit bool // a unit must stand beside it
}

// Matcher holds a table of fields ready for comparing. It remembers what it has
// compared, since the sheets of a book are headed alike, and serves one reader at
// a time.
type Matcher struct {
	fields []FieldWords
	// first gives the phrases by their first words: no other phrase can fit a
	// heading without that word.
	first map[string][]phraseOf
	best  []float64 // by field, while a heading is compared
	known map[heard]answer
	units map[string]Units
}

// Units are the units that a heading names for its column, and how many different
// ones of each kind.
type Units struct {
	Length           unit.LengthUnit
	Volume           unit.VolumeUnit
	Lengths, Volumes int
}

// Units gives the units of a heading.
func (m *Matcher) Units(text string) Units {
	u, there := m.units[text]
	if !there {
		u.Length, _, u.Lengths = unit.FindLengthUnit(text)
		u.Volume, _, u.Volumes = unit.FindVolumeUnit(text)
		if u.Lengths+u.Volumes == 0 && oneWord.MatchString(text) {
			u.Length, _, u.Lengths = unit.FindLengthUnit(wordsApart(text))
			u.Volume, _, u.Volumes = unit.FindVolumeUnit(wordsApart(text))
		}
		if len(m.units) >= mostHeard {
			clear(m.units)
		}
		m.units[strings.Clone(text)] = u
	}
	return u
}

// Share makes the matchers remember the units of headings together.
func (m *Matcher) Share(others ...*Matcher) {
	for _, o := range others {
		o.units = m.units
	}
}

type phraseOf struct {
	field int
	phrase
}

// heard is a heading that was compared, answer what came of it.
type heard struct {
	text string
	unit bool
}

type answer struct {
	field int // -1 for none
	score float64
	ok    bool
}

// mostHeard bounds what a Matcher remembers: the headings of a few hundred sheets.
const mostHeard = 4096

func NewMatcher(fields []FieldWords) *Matcher {
	m := &Matcher{fields: fields, first: make(map[string][]phraseOf), best: make([]float64, len(fields)), known: make(map[heard]answer), units: make(map[string]Units)}
	for i, f := range fields {
		for _, list := range [...]string{f.en, f.es, f.fr, f.de} {
			for p := range strings.SplitSeq(list, ",") {
				p = strings.TrimSpace(p)
				var ph phrase
				if rest, ok := strings.CutPrefix(p, "="); ok {
					ph.exact, p = true, rest
				}
				if rest, ok := strings.CutPrefix(p, "+"); ok {
					ph.withUnit, p = true, rest
				}
				// Units are left out of headings, and so is the sign of a percentage.
				if ph.words = strings.Fields(strings.TrimSuffix(p, " percent")); len(ph.words) > 0 {
					m.first[ph.words[0]] = append(m.first[ph.words[0]], phraseOf{i, ph})
				}
			}
		}
	}
	return m
}

// enough is the share of a heading's words that a phrase must account for:
// "working capacity" must not pass for a capacity.
const enough = 0.6

// Field gives the field that a heading names and how well it fits, from enough
// to 1; ok is false where none does or two do equally well. text is the heading
// as written, unitBeside says that a units row names a unit for the column.
func (m *Matcher) Field(text string, unitBeside bool) (f FieldWords, score float64, ok bool) {
	a, there := m.known[heard{text, unitBeside}]
	if !there {
		if a = m.field(text, unitBeside); a.field < 0 && oneWord.MatchString(text) {
			a = m.field(wordsApart(text), unitBeside) // "RiserHeightIn", as databases write it
		}
		if len(m.known) >= mostHeard {
			clear(m.known)
		}
		m.known[heard{strings.Clone(text), unitBeside}] = a
	}
	if a.field >= 0 {
		f = m.fields[a.field]
	}
	return f, a.score, a.ok
}

func (m *Matcher) field(text string, unitBeside bool) answer {
	none := answer{field: -1}
	words := HeadingWords(text)
	if len(words) == 0 || len(words) > 16 {
		return none
	}
	any := false
	for _, w := range words {
		any = any || len(m.first[w]) > 0
	}
	if !any {
		return none
	}
	u := m.Units(text)
	lengths, volumes := u.Lengths, u.Volumes
	named := unitBeside || lengths > 0 || volumes > 0
	var room [16]float64
	weights := room[:len(words)]
	for i, w := range words {
		weights[i] = 1
		if weakWords[w] {
			weights[i] = 0.2
		}
	}
	clear(m.best)
	for _, w := range words {
		for i := range m.first[w] {
			p := &m.first[w][i]
			// A heading with a unit of volume is no length, nor the other way.
			if k := m.fields[p.field].Kind; lengths > 0 && volumes == 0 && k == KindVolume || volumes > 0 && lengths == 0 && k == KindLength {
				continue
			}
			m.best[p.field] = max(m.best[p.field], p.fit(words, weights, named))
		}
	}
	best, second, f := 0.0, 0.0, -1
	for i, s := range m.best {
		if s <= 0 {
			continue
		}
		if k := m.fields[i].Kind; named && k != KindLength && k != KindVolume && k != KindLengthUnit && k != KindVolumeUnit {
			s -= 0.3 // a name or a date has no unit
		}
		switch {
		case s > best:
			best, second, f = s, best, i
		case s > second:
			second = s
		}
	}
	return answer{f, best, best >= enough && best > second}
}

// fit gives the share of the heading's words that the phrase accounts for, 0
// where a word of the phrase is missing. weights are those of the words where
// the phrase does not hold them; what it holds weighs 1.
func (p phrase) fit(words []string, weights []float64, unit bool) float64 {
	if p.withUnit && !unit || p.exact && len(p.words) != len(words) || len(p.words) > len(words) {
		return 0
	}
	// Most phrases miss a word, so that is asked first.
	for _, q := range p.words {
		if !slices.Contains(words, q) {
			return 0
		}
	}
	var have, all float64
	first := -1
	for i, w := range words {
		if !slices.Contains(p.words, w) {
			all += weights[i]
			continue
		}
		all++
		have++
		if first < 0 {
			first = i
		}
	}
	// What stands first weighs a little more, a longer phrase too, so that ties
	// are broken the way a reader would.
	return have/all - 0.001*float64(first) + 0.0005*float64(len(p.words))
}
