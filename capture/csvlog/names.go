package csvlog

import (
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"

	"flywitness/drive"
)

// quantity says how the headings of one channel are spelled. A heading is cut into words; it names the channel when all words of one
// of the phrases are in it and beside them none of the words in not. Strong phrases can mean nothing else; weak ones give way to strong ones.
type quantity struct {
	channel      string
	unit         string // canonical, in the spelling of package vehicle; "" for a number or a switch
	strong, weak []string
	also         string // words that may stand beside a phrase and say nothing new
	not          string // words that make it something else
	second       string // words of a second-best copy (a redundant sensor)
}

// plainWords may stand in any heading.
const plainWords = "sensor signal value actual act ist current cur obd obd2 obdii eobd ecu ems ecm pcm can pid sae j1979 data the of du de del der des di do da la le no number " +
	"i l 1 2 0 0x0c 0x0d 0c 0d 010c 010d mode service 01 istwert measured meas gemessen raw log ch channel bus hs engine1"

// otherThings turn any heading into a quantity that was wanted, limited or computed, not measured.
const otherThings = "target desired setpoint set soll sollwert consigne requested request commanded command cmd demand demanded limit limiter max maximum minimum avg average mean median " +
	"error err delta diff difference deviation accuracy variation change gradient rate derivative learn learned adaptation status flag valid quality cruise count counter peak since resolution offset " +
	"trim correction slip ratio predicted modelled ziel mittel moyenne media objectif obiettivo objetivo"

const speedNot = "engine eng motor rotational rotation motordrehzahl wheel wheels wheelspeed roue ruota rueda rad fl fr rl rr lf rf lr front rear left right hinten vorne fan turbo turbine compressor input output shaft gearbox " +
	"transmission trans idle wind air pump vertical trip gear acceleration accel distance time wheelspin yaw control sensorvoltage ratio crank crankshaft camshaft cam driveshaft propshaft " +
	"rpm angle heading course altitude trap zone engine undriven nondriven driven rotor flow voltage"

var quantities = []quantity{
	{channel: drive.EngineSpeed, unit: "rpm",
		strong: []string{"engine rpm", "engine speed", "engine revolutions", "engine revs", "motor rpm", "nmot", "n mot", "n motor", "n engine", "motordrehzahl", "motor drehzahl",
			"regime moteur", "giri motore", "regimen motor", "regimen del motor", "revoluciones motor", "velocidad motor", "rotacao motor", "crankshaft speed", "crank speed", "crankshaft rpm", "motortoerental",
			"motorvarvtal", "obroty silnika", "otacky motoru", "обороты двигателя", "エンジン回転数", "rotational speed engine", "eng rpm", "eng speed", "eng spd", "eng revs", "engine spd", "enginerevs", "rpm engine"},
		weak: []string{"rpm", "revs", "rev", "tach", "tacho", "tachometer", "drehzahl", "regime", "giri", "regimen", "revoluciones", "rotacao", "toerental", "varvtal", "obroty", "otacky",
			"обороты", "回転数", "kierrosluku", "kierrosnopeus", "omdrejninger", "turtall", "umdrehungen", "n"},
		also: "engine motor moteur motore crankshaft crank speed counter",
		not: "e emotor turbo turbine fan wheel wheels gearbox transmission trans input output shaft compressor pump alternator generator idle leerlauf ralenti shift cam camshaft driveshaft time load temp temperature torque " +
			"oil coolant pressure leerlaufdrehzahl axle rotor electric secondary primary launch redline"},
	{channel: drive.GPSSpeed, unit: "km/h",
		strong: []string{"gps speed", "gnss speed", "speed over ground", "sog", "gps velocity", "gps geschwindigkeit", "vitesse gps", "velocita gps", "velocidad gps", "velocidade gps", "gps spd", "gps v", "gpsspeed"},
		also:   "ground vehicle over 2d 3d",
		not:    "wheel vertical up down north east accuracy time engine acceleration heading course limit error"},
	{channel: drive.UndrivenSpeed, unit: "km/h",
		strong: []string{"undriven speed", "non driven speed", "nondriven speed", "undriven wheel speed", "non driven wheel speed", "undriven wheels speed"},
		also:   "wheel wheels vehicle mean average avg axle"},
	{channel: drive.VehicleSpeed, unit: "km/h",
		strong: []string{"vehicle speed", "road speed", "car speed", "vss", "vehicle velocity", "vehicle spd", "veh speed", "veh spd", "road spd", "fahrzeuggeschwindigkeit", "fahrgeschwindigkeit", "fzg geschwindigkeit", "vfzg", "v fzg", "v veh",
			"vveh", "vfz", "vitesse vehicule", "velocita veicolo", "velocidad vehiculo", "velocidad del vehiculo", "velocidade veiculo", "voertuigsnelheid", "fordonshastighet", "wheel based vehicle speed", "wheel based speed",
			"ground speed", "predkosc pojazdu", "rychlost vozidla", "скорость автомобиля", "車速", "vspd", "vehspd", "vs"},
		weak: []string{"speed", "velocity", "spd", "geschwindigkeit", "tempo kmh", "vitesse", "velocita", "velocidad", "velocidade", "snelheid", "hastighet", "hastighed", "predkosc", "rychlost", "скорость", "nopeus", "速度", "speedometer", "speedo", "kmh", "kph", "mph", "v"},
		also: "vehicle car road ground fahrzeug vehicule veicolo vehiculo veiculo speed based wheel",
		not:  speedNot + " gps gnss over satellite"},
	{channel: drive.Throttle, unit: "%",
		strong: []string{"throttle", "tps", "throttle position", "drosselklappe", "drosselklappenstellung", "papillon", "farfalla", "mariposa", "borboleta", "tp", "trottel"},
		also:   "position pos plate valve body angle blade absolute percent opening stellung winkel gas a abs manifold",
		not:    "pedal accelerator volts voltage temp pressure motor idle stop duty actuator relay", second: "b c relative rel bank 2"},
	{channel: drive.Pedal, unit: "%",
		strong: []string{"pedal", "accelerator", "app", "fahrpedal", "gaspedal", "pedalwert", "accel pedal", "accelerator pedal", "pedale accelerateur", "acelerador", "acceleratore", "accelerateur"},
		also:   "position pos d percent stellung pedale driver accelerator absolute throttle gas accel",
		not:    "brake clutch bremse kupplung frein embrayage freno freio volts voltage switch kickdown", second: "e f b c relative rel"},
	{channel: drive.EngineLoad, unit: "%",
		strong: []string{"engine load", "calculated load", "calc load", "calculated engine load", "motorlast", "charge moteur", "carico motore", "carga motor", "eng load", "clv", "load pct"},
		weak:   []string{"load", "last", "carga", "charge", "carico"},
		also:   "engine motor calculated calc percent value berechnete",
		not:    "absolute abs torque electrical alternator generator battery axle wheel payload brake accel"},
	{channel: drive.BarometricPressure, unit: "kPa",
		strong: []string{"barometric", "baro", "barometer", "barometric pressure", "ambient pressure", "atmospheric pressure", "luftdruck", "umgebungsdruck", "pression atmospherique", "bap"},
		also:   "pressure absolute press ambient air", not: "temp temperature altitude"},
	{channel: drive.IntakePressure, unit: "kPa",
		strong: []string{"map", "manifold pressure", "intake pressure", "manifold absolute pressure", "intake manifold pressure", "inlet pressure", "saugrohrdruck", "ladedruck absolut", "pression admission",
			"absolute boost", "boost absolute", "charge air pressure absolute"},
		also: "intake manifold absolute abs pressure press inlet air druck", not: "temp temperature gauge relative exhaust oil fuel baro barometric dpf rail trottle index table"},
	{channel: drive.AirFlow, unit: "g/s",
		strong: []string{"maf", "air flow", "airflow", "mass air flow", "luftmasse", "luftmassenstrom", "debit air", "air mass flow"},
		also:   "mass air flow intake rate engine total a", not: "temp temperature volts voltage frequency hz fan cabin", second: "b"},
	{channel: drive.CoolantTemp, unit: "C",
		strong: []string{"coolant", "ect", "clt", "coolant temp", "coolant temperature", "water temp", "water temperature", "kuhlmitteltemperatur", "kuehlmitteltemperatur", "wassertemperatur", "engine temp", "engine temperature",
			"motortemperatur", "temperature liquide refroidissement", "temperatura acqua", "temperatura refrigerante", "kuhlwassertemperatur"},
		also: "engine temp temperature water motor degrees liquide refroidissement", not: "oil fan pump pressure level intake ambient inlet outlet radiator flow gearbox time pwm"},
	{channel: drive.OilTemp, unit: "C",
		strong: []string{"oil temp", "oil temperature", "oltemperatur", "oeltemperatur", "eot", "temperature huile", "temperatura olio", "temperatura aceite"},
		also:   "engine temp temperature motor eng", not: "gearbox transmission trans differential diff pressure rear atf clutch"},
	{channel: drive.IntakeTemp, unit: "C",
		strong: []string{"iat", "intake air temp", "intake air temperature", "intake temp", "intake temperature", "inlet air temp", "inlet temp", "air intake temp", "air intake temperature", "ansauglufttemperatur",
			"temperature air admission", "charge air temp", "charge air temperature", "act sensor"},
		also: "intake air temp temperature manifold inlet", not: "coolant ambient exhaust oil fuel pressure catalyst", second: "b 2"},
	{channel: drive.AmbientTemp, unit: "C",
		strong: []string{"ambient temp", "ambient temperature", "ambient air temp", "ambient air temperature", "outside temp", "outside temperature", "aussentemperatur", "umgebungstemperatur", "aat", "temperature exterieure"},
		also:   "air temp temperature outside", not: "coolant intake pressure light"},
	{channel: drive.EngineTorque, unit: "%",
		strong: []string{"engine torque pct", "actual engine torque", "actual engine percent torque", "actual percent torque", "engine percent torque", "actual torque", "engine torque"},
		also:   "percent actual pct engine", not: "reference wheel clutch friction loss nm driver gearbox lbft max"},
	{channel: drive.ReferenceTorque, unit: "N m",
		strong: []string{"reference torque", "engine reference torque", "torque reference"}, also: "engine", not: "percent pct actual"},
	{channel: drive.DemandedTorque, unit: "%",
		strong: []string{"demanded torque", "driver demand torque", "driver demand engine torque", "driver demand percent torque", "torque demand", "drivers demand engine percent torque"},
		also:   "engine percent driver drivers pct s", not: "wheel reference nm"},
	{channel: drive.FuelSystemStatus,
		strong: []string{"fuel system status", "fuel system", "fuel status"}, also: "status fuel system 1", not: "pressure rail level trim temp 2 b"},
	{channel: drive.ModuleVoltage, unit: "V",
		strong: []string{"module voltage", "control module voltage", "battery voltage", "ecu voltage", "system voltage", "bordspannung", "batteriespannung", "vbat", "ubat", "voltage battery", "tension batterie"},
		weak:   []string{"voltage", "battery", "spannung"},
		also:   "module control battery ecu supply system car vehicle adapter", not: "throttle pedal tps maf map o2 oxygen lambda knock sensor bank hybrid level current"},
	{channel: drive.ClutchSwitch,
		strong: []string{"clutch", "clutch switch", "clutch pedal", "clutch pedal switch", "kupplung", "kupplungsschalter", "embrayage", "frizione", "embrague", "clutch pressed", "clutch pedal pressed", "clutch state"},
		also:   "switch pedal pressed state position down foot", not: "temp temperature torque pressure slip speed rpm energy wear brake lockup percent actuator"},
	{channel: drive.Latency, unit: "ms", strong: []string{"latency"}, also: "ms reply", not: "gps"},
}

// exempt lists the words of otherThings that belong to a channel's own name.
var exempt = map[string]string{
	drive.DemandedTorque:   "demand demanded",
	drive.FuelSystemStatus: "status",
	drive.UndrivenSpeed:    "mean average avg",
	drive.AirFlow:          "rate",
	drive.EngineSpeed:      "counter",
}

// rank says how well a heading names a channel; higher is better, 0 is not at all.
type rank int

const (
	noMatch  rank = 0
	doubtful rank = 1 // a phrase, with words beside it that nobody knows
	second   rank = 2 // a redundant copy
	weak     rank = 3
	strong   rank = 4
	exact    rank = 5 // the canonical name
)

// rankOf matches the words of a heading against one quantity.
func (q *lexicon) rankOf(words []string, whole string) rank {
	if whole == q.channel {
		return exact
	}
	best := noMatch
	for _, p := range q.phrases {
		if !containsAll(words, p.words) {
			continue
		}
		r := p.rank
		for _, w := range words {
			switch {
			case p.has[w]:
			case q.not[w]:
				r = noMatch
			case q.also[w]:
			case q.second[w]:
				r = min(r, second)
			default:
				r = min(r, doubtful)
			}
		}
		best = max(best, r)
	}
	return best
}

func containsAll(words, want []string) bool {
	for _, w := range want {
		found := false
		for _, have := range words {
			found = found || have == w
		}
		if !found {
			return false
		}
	}
	return true
}

// lexicon is a quantity with its word lists made ready.
type lexicon struct {
	quantity
	phrases           []phrase
	also, not, second map[string]bool
}

type phrase struct {
	words []string
	has   map[string]bool
	rank  rank
}

var lexicons, vocabulary = buildLexicons()

func buildLexicons() ([]*lexicon, map[string]bool) {
	vocab := wordSet(plainWords + " " + otherThings + " " + timeWords)
	var out []*lexicon
	for _, q := range quantities {
		l := &lexicon{quantity: q, also: wordSet(plainWords + " " + q.also), not: wordSet(otherThings + " " + q.not), second: wordSet(q.second)}
		for _, w := range strings.Fields(exempt[q.channel] + " " + q.second) {
			delete(l.not, w)
		}
		for w := range l.second {
			delete(l.also, w)
		}
		for r, list := range map[rank][]string{strong: q.strong, weak: q.weak} {
			for _, p := range list {
				words := strings.Fields(p)
				l.phrases = append(l.phrases, phrase{words, wordSet(p), r})
				for _, w := range words {
					vocab[w] = true
				}
			}
		}
		for _, list := range []string{q.also, q.not, q.second} {
			for w := range wordSet(list) {
				vocab[w] = true
			}
		}
		out = append(out, l)
	}
	return out, vocab
}

func wordSet(s string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(s) {
		m[w] = true
	}
	return m
}

// fold returns s in lower case without accents.
func fold(s string) string {
	stripped, _, err := transform.String(transform.Chain(norm.NFKD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), s)
	if err != nil {
		stripped = s
	}
	return strings.ReplaceAll(strings.ToLower(stripped), "ß", "ss")
}

// wordsOf cuts a heading into folded words: at anything that is neither letter nor digit, where a capital follows a small letter, and
// where two known words were written as one.
func wordsOf(s string) []string {
	var spaced strings.Builder
	var last rune
	for _, r := range s {
		if unicode.IsUpper(r) && unicode.IsLower(last) {
			spaced.WriteByte(' ')
		}
		spaced.WriteRune(r)
		last = r
	}
	var out []string
	for _, w := range strings.FieldsFunc(fold(spaced.String()), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		out = append(out, splitKnown(w)...)
	}
	return out
}

// splitKnown cuts "enginerpm" into the two known words it is made of.
func splitKnown(w string) []string {
	if vocabulary[w] || len(w) < 6 {
		return []string{w}
	}
	for i := 3; i <= len(w)-3; i++ {
		if vocabulary[w[:i]] && vocabulary[w[i:]] {
			return []string{w[:i], w[i:]}
		}
	}
	return []string{w}
}
