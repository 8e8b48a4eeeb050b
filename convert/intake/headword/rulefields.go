package headword

// The columns of a rules table.
const (
	RuleEnabled    Field = "enabled"
	RuleID         Field = "rule_id"
	RulePlace      Field = "jurisdiction"
	RuleInstrument Field = "instrument"
	RuleSection    Field = "section"
	RuleAppliesTo  Field = "applies_to"
	RuleQuantity   Field = "quantity"
	RuleComparator Field = "comparator"
	RuleValue      Field = "value"
	RuleUnit       Field = "unit"
	RuleBasis      Field = "basis"
	RuleCondition  Field = "condition"
	RuleEffective  Field = "effective"
	RuleHowKnown   Field = "how_known"
	RuleConfidence Field = "confidence"
)

// RuleFields is the table of the headings of a rules table. Every field is text:
// a value may be no plain number.
var RuleFields = []FieldWords{
	{RuleEnabled, KindText, "enabled, in force, use, active, switched", "activa, activo", "active, actif", "aktiv, gilt"},
	{RuleID, KindText, "rule id, rule, id, rule no, rule name", "regla, id regla", "regle, id regle", "regel, regel id"},
	{RulePlace, KindText, "jurisdiction, place, state, country, authority", "jurisdiccion, lugar, pais", "juridiction, lieu, pays", "rechtsraum, ort, land"},
	{RuleInstrument, KindText, "instrument, citation, law, code, regulation, standard", "norma, ley, reglamento", "texte, loi, reglement, norme", "vorschrift, gesetz, norm"},
	{RuleSection, KindText, "section, clause, paragraph, article", "seccion, articulo, apartado", "section, article, paragraphe", "abschnitt, paragraph, artikel"},
	{RuleAppliesTo, KindText, "applies, applies tank, scope", "aplica, se aplica, ambito", "applique, domaine, champ", "gilt fur, geltung, anwendung"},
	{RuleQuantity, KindText, "quantity, what, limit quantity", "magnitud", "grandeur", "grosse, groesse"},
	{RuleComparator, KindText, "comparator, comparison, compare, sign", "comparador", "comparateur, comparaison", "vergleich, zeichen"},
	{RuleValue, KindText, "value, limit, limit value, figure", "valor, limite", "valeur, limite", "wert, grenzwert"},
	{RuleUnit, KindText, "unit, units", "unidad", "unite", "einheit"},
	{RuleBasis, KindText, "basis, measured against", "base", "base", "bezug, basis"},
	{RuleCondition, KindText, "condition, conditions", "condicion", "condition", "bedingung"},
	{RuleEffective, KindText, "effective, effective date, since, date, effective since", "vigencia, vigente", "entree vigueur, vigueur", "gultig, gueltig ab, gultig ab"},
	{RuleHowKnown, KindText, "how known, known, evidence, source", "fuente", "source", "quelle, woher"},
	{RuleConfidence, KindText, "confidence, sure", "confianza", "confiance", "sicherheit, vertrauen"},
}
