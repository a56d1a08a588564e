package drive

// Canonical channel names: the name that a channel has in session files, JSON, the database and the pages. The unit
// is part of the name.
const (
	EngineSpeed        = "engine_speed_rpm"
	VehicleSpeed       = "vehicle_speed_kmh"
	GPSSpeed           = "gps_speed_kmh"
	UndrivenSpeed      = "undriven_speed_kmh"
	Throttle           = "throttle_pct"
	Pedal              = "pedal_pct"
	EngineLoad         = "engine_load_pct"
	IntakePressure     = "intake_pressure_kpa"
	BarometricPressure = "barometric_pressure_kpa"
	AirFlow            = "air_flow_gs"
	CoolantTemp        = "coolant_temp_c"
	IntakeTemp         = "intake_temp_c"
	AmbientTemp        = "ambient_temp_c"
	OilTemp            = "oil_temp_c"
	EngineTorque       = "engine_torque_pct"
	ReferenceTorque    = "reference_torque_nm"
	DemandedTorque     = "demanded_torque_pct"
	FuelSystemStatus   = "fuel_system_status"
	ModuleVoltage      = "module_voltage_v"
	ShortFuelTrim      = "short_fuel_trim_pct"
	LongFuelTrim       = "long_fuel_trim_pct"
	CommandedLambda    = "commanded_lambda"
	FuelRate           = "fuel_rate_lph"
	SparkAdvance       = "spark_advance_deg"
	CanisterPurge      = "canister_purge_pct"
	RunTime            = "run_time_s"
	Altitude           = "altitude_m"
	ClutchSwitch       = "clutch_switch"
	Latency            = "latency_ms"
)

// definitions is the one list of channels. Requests and scalings are those of SAE J1979 / ISO 15031-5 service 01
// (from memory); the limits are what a car does; the headings are those of loggers of several trades and languages
// (common practice, no source).
var definitions = []Definition{
	{
		Name: EngineSpeed, Label: "Engine speed", Unit: "rpm", Decimals: 2, High: 12000, Pace: EveryCycle,
		Use:     "the crankshaft's speed: every finding needs it",
		Request: Request{PID: 0x0C, Size: 2, Scale: 0.25},
		Heading: Heading{
			Strong: []string{"engine rpm", "engine speed", "engine revolutions", "engine revs", "motor rpm", "nmot",
				"n mot", "n motor", "n engine", "motordrehzahl", "motor drehzahl", "regime moteur", "giri motore",
				"regimen motor", "regimen del motor", "revoluciones motor", "velocidad motor", "rotacao motor",
				"crankshaft speed", "crank speed", "crankshaft rpm", "motortoerental", "motorvarvtal",
				"obroty silnika", "predkosc obrotowa silnika", "predkosc obrotowa", "otacky motoru",
				"обороты двигателя", "エンジン回転数", "发动机转速", "引擎转速", "引擎轉速", "엔진 회전수",
				"엔진회전수", "motor devri", "turatie motor", "στροφες κινητηρα", "оберти двигуна", "обороти двигателя",
				"motorfordulatszam", "motoromdrejninger", "moottorin kierrosnopeus", "otacky motora", "broj okretaja motora", "rotational speed engine", "eng rpm", "eng speed", "eng spd",
				"eng revs", "engine spd", "enginerevs", "rpm engine",
				"vitesse moteur", "vitesse rotation moteur", "drehgeschwindigkeit motor", "drehgeschwindigkeit",
				"motorturtall", "частота вращения коленвала", "частота вращения двигателя", "скорость вращения двигателя",
				"частота вращения", "エンジン回転速度", "엔진회전속도", "엔진 회전속도", "moottorin kierrosluku", "revs per minute", "revolutions per minute"},
			Weak: []string{"rpm", "revs", "rev", "tach", "tacho", "tachometer", "drehzahl", "regime", "giri",
				"regimen", "revoluciones", "rotacao", "toerental", "varvtal", "obroty", "otacky", "обороты", "回転数", "转速", "轉速", "회전수", "devir", "devri",
				"fordulatszam", "turatie", "στροφες", "оберти", "обороти", "okretaji", "broj okretaja",
				"kierrosluku", "kierrosnopeus", "omdrejninger", "turtall", "umdrehungen", "n"},
			Also: "engine motor moteur motore mot eng crankshaft crank speed counter",
			Not: "e emotor turbo turbine fan wheel wheels gearbox transmission trans input output shaft " +
				"compressor pump alternator generator idle leerlauf ralenti shift cam camshaft driveshaft time " +
				"load temp temperature torque oil coolant pressure leerlaufdrehzahl axle rotor electric " +
				"secondary primary launch redline",
			Own: "counter"},
	},
	{
		Name: VehicleSpeed, Label: "Road speed", Unit: "km/h", High: 254, Pace: EveryCycle,
		Use:     "the speed that the car itself reports: gear, slip, acceleration",
		Request: Request{PID: 0x0D, Size: 1, Scale: 1},
		Heading: Heading{
			Strong: []string{"vehicle speed", "road speed", "car speed", "vss", "vehicle velocity", "vehicle spd",
				"veh speed", "veh spd", "road spd", "fahrzeuggeschwindigkeit", "fahrgeschwindigkeit",
				"fzg geschwindigkeit", "vfzg", "v fzg", "v veh", "vveh", "vfz", "vitesse vehicule",
				"velocita veicolo", "velocidad vehiculo", "velocidad del vehiculo", "velocidade veiculo",
				"voertuigsnelheid", "fordonshastighet", "wheel based vehicle speed", "wheel based speed",
				"ground speed", "predkosc pojazdu", "rychlost vozidla", "скорость автомобиля", "車速", "车速", "차속",
				"arac hızı", "ajonopeus", "vspd",
				"vehspd", "vs",
				"fzg geschw", "fahrzeuggeschw", "скорость движения", "車両速度", "车辆速度", "車輛速度", "차량 속도", "차량속도",
				"køretøjshastighed", "kjøretøyhastighet", "ajoneuvon nopeus", "jarmu sebesseg", "viteza vehicul",
				"ταχυτητα οχηματος", "швидкість автомобіля"},
			Weak: []string{"speed", "velocity", "spd", "geschwindigkeit", "tempo kmh", "vitesse", "velocita",
				"velocidad", "velocidade", "snelheid", "hastighet", "hastighed", "predkosc", "rychlost", "скорость",
				"nopeus", "速度", "hız", "sebesseg", "viteza", "ταχυτητα", "швидкість", "скорост", "brzina",
				"속도", "speedometer", "speedo", "kmh", "kph", "mph", "v"},
			Also: "vehicle veh car road ground fahrzeug vehicule veicolo vehiculo veiculo speed based wheel",
			Not: "obrotowa silnika engine eng motor rotational rotation motordrehzahl wheel wheels wheelspeed " +
				"roue ruota rueda rad fl fr rl rr lf rf lr front rear left right hinten vorne fan turbo turbine " +
				"compressor input output shaft gearbox transmission trans idle wind air pump vertical trip gear " +
				"acceleration accel distance time wheelspin yaw control sensorvoltage ratio crank crankshaft " +
				"camshaft cam driveshaft propshaft rpm angle heading course altitude trap zone undriven " +
				"nondriven driven rotor flow voltage gps gnss over satellite moteur motore вращения " +
				"двигателя коленвала shift last"},
	},
	{
		Name: EngineLoad, Label: "Engine load", Unit: "%", Decimals: 2, High: 100, Pace: Often,
		Use:     "how hard the engine works, as the control unit calculates it: pulls, full load",
		Request: Request{PID: 0x04, Size: 1, Scale: 100.0 / 255},
		Heading: Heading{
			Strong: []string{"engine load", "calculated load", "calc load", "calculated engine load", "motorlast",
				"charge moteur", "carico motore", "carga motor", "eng load", "clv", "load pct",
				"berechnete last", "lastwert", "charge calculee", "carga calculada", "carico calcolato", "motorbelasting",
				"motorbelastning", "obciazenie silnika", "zatizeni motoru", "нагрузка на двигатель", "нагрузка двигателя",
				"расчетная нагрузка", "навантаження", "навантаження двигуна", "エンジン負荷", "計算負荷値", "发动机负荷", "引擎負荷", "计算负荷值",
				"엔진 부하", "엔진부하", "계산부하값", "moottorin kuormitus", "motor yuku", "motorterheles", "sarcina motor",
				"φορτιο κινητηρα"},
			Weak: []string{"load", "last", "carga", "charge", "carico"},
			Also: "engine motor calculated calc percent value berechnete",
			Not:  "absolute abs torque electrical alternator generator battery axle wheel payload brake accel"},
	},
	{
		Name: Pedal, Label: "Accelerator", Unit: "%", Decimals: 2, High: 100, Pace: Often,
		Use:     "the driver's foot: closed in free revs and on overrun",
		Request: Request{PID: 0x49, Size: 1, Scale: 100.0 / 255},
		Heading: Heading{
			Strong: []string{"pedal", "accelerator", "app", "fahrpedal", "gaspedal", "pedalwert", "accel pedal",
				"accelerator pedal", "pedale accelerateur", "acelerador", "acceleratore", "accelerateur", "アクセル開度"},
			Also:   "position pos d percent stellung pedale driver accelerator absolute throttle gas accel",
			Not:    "brake clutch bremse kupplung frein embrayage freno freio volts voltage switch kickdown",
			Second: "e f b c relative rel"},
	},
	{
		Name: IntakePressure, Label: "Intake pressure", Unit: "kPa", High: 255, Pace: Often,
		Use:     "absolute pressure in the intake manifold: load, and how far the throttle is shut in a fall",
		Request: Request{PID: 0x0B, Size: 1, Scale: 1},
		Heading: Heading{
			Strong: []string{"map", "manifold pressure", "intake pressure", "manifold absolute pressure",
				"intake manifold pressure", "inlet pressure", "saugrohrdruck", "ladedruck absolut",
				"pression admission", "absolute boost", "boost absolute", "charge air pressure absolute"},
			Also: "intake manifold absolute abs pressure press inlet air druck",
			Not: "temp temperature gauge relative exhaust oil fuel baro barometric dpf rail trottle index " +
				"table"},
	},
	{
		Name: EngineTorque, Label: "Engine torque", Unit: "%", Low: -125, High: 130, Pace: Often,
		Use:     "actual torque as a share of the reference torque",
		Request: Request{PID: 0x62, Size: 1, Scale: 1, Offset: -125},
		Heading: Heading{
			Strong: []string{"engine torque pct", "actual engine torque", "actual engine percent torque",
				"actual percent torque", "engine percent torque", "actual torque", "engine torque"},
			Also: "percent actual pct engine",
			Not:  "reference wheel clutch friction loss nm driver gearbox lbft max"},
	},
	{
		Name: CoolantTemp, Label: "Coolant", Unit: "C", Low: -40, High: 150, Pace: Seldom,
		Use:     "whether the engine is warm",
		Request: Request{PID: 0x05, Size: 1, Scale: 1, Offset: -40},
		Heading: Heading{
			Strong: []string{"coolant", "ect", "clt", "coolant temp", "coolant temperature", "water temp",
				"water temperature", "kuhlmitteltemperatur", "kuehlmitteltemperatur", "wassertemperatur",
				"engine temp", "engine temperature", "motortemperatur", "temperature liquide refroidissement",
				"temperatura acqua", "水温", "冷却水温", "kmt", "t mot", "temperatura refrigerante", "kuhlwassertemperatur",
				"kuhlwassertemp", "kuhlmitteltemp", "temp eau", "temperature eau", "temp refrigerante", "temp acqua",
				"temperatura liquido raffreddamento", "temperatura liquido arrefecimento", "koelvloeistoftemperatuur",
				"temperatura płynu chłodzacego", "teplota chladici kapaliny", "kylvatsketemperatur", "kølevæsketemperatur",
				"kjølevæsketemperatur", "jaahdytysnesteen lampotila", "температура охлаждающей жидкости", "темп ож",
				"температура ож", "冷却水温度", "エンジン冷却水温度", "冷却液温度", "냉각수 온도", "냉각수온도", "sogutma suyu sıcaklıgı",
				"hutoviz homerseklet", "temperatura lichid racire", "θερμοκρασια ψυκτικου"},
			Also: "engine temp temperature water motor degrees liquide refroidissement",
			Not:  "oil fan pump pressure level intake ambient inlet outlet radiator flow gearbox time pwm"},
	},
	{
		Name: Throttle, Label: "Throttle", Unit: "%", Decimals: 2, High: 100, Pace: Seldom,
		Use:     "stands in for an accelerator that the car does not give",
		Request: Request{PID: 0x11, Size: 1, Scale: 100.0 / 255},
		Heading: Heading{
			Strong: []string{"throttle", "tps", "throttle position", "drosselklappe", "drosselklappenstellung",
				"papillon", "farfalla", "dk", "w dk", "スロットル開度", "スロットル", "mariposa", "borboleta", "tp", "trottel", "przepustnicy", "przepustnica",
				"gasklep", "gasklepstand", "gasspjall", "gasspjallslage", "skrtici klapky", "дроссельной заслонки",
				"дроссель", "дроссельная заслонка", "节气门", "节气门开度", "节气门位置", "節氣門開度", "スロットルポジション", "スロットルバルブ開度", "스로틀",
				"스로틀 개도", "스로틀 위치", "gasspjæld", "spjeldstilling", "kaasulapan asento", "gaz kelebegi", "fojtoszelep",
				"pozitie clapeta", "clapeta", "πεταλουδα"},
			Also: "position posicion posizione posicao polozenie połozenie poloha stand lage положение pos " +
				"plate valve body angle blade absolute percent opening stellung winkel gas a abs manifold gaz gases",
			Not:    "pedal accelerator volts voltage temp pressure motor idle stop duty actuator relay",
			Second: "b c relative rel bank 2"},
	},
	{
		Name: DemandedTorque, Label: "Demanded torque", Unit: "%", Low: -125, High: 130, Pace: Seldom,
		Use:     "what the driver asks for, where the accelerator is not given",
		Request: Request{PID: 0x61, Size: 1, Scale: 1, Offset: -125},
		Heading: Heading{
			Strong: []string{"demanded torque", "driver demand torque", "driver demand engine torque",
				"driver demand percent torque", "torque demand", "drivers demand engine percent torque"},
			Also: "engine percent driver drivers pct s",
			Not:  "wheel reference nm",
			Own:  "demand demanded"},
	},
	{
		Name: FuelSystemStatus, Label: "Fuel system status", High: 255, Pace: Seldom,
		Use: "code of the first fuel system: 2 is closed loop, 4 is open loop under load or with the fuel " +
			"cut",
		Request: Request{PID: 0x03, Size: 2, Scale: 1, FirstByteOnly: true},
		Heading: Heading{
			Strong: []string{"fuel system status", "fuel system", "fuel status"},
			Also:   "status fuel system 1",
			Not:    "pressure rail level trim temp 2 b",
			Own:    "status"},
	},
	{
		Name: AirFlow, Label: "Air flow", Unit: "g/s", Decimals: 2, High: 655.35, Pace: Seldom,
		Use:     "mass of air that the engine takes in: its drag when held at a speed",
		Request: Request{PID: 0x10, Size: 2, Scale: 0.01},
		Heading: Heading{
			Strong: []string{"maf", "air flow", "airflow", "mass air flow", "luftmasse", "luftmassenstrom",
				"debit air", "air mass flow"},
			Also:   "mass air flow intake rate engine total a",
			Not:    "temp temperature volts voltage frequency hz fan cabin",
			Second: "b",
			Own:    "rate"},
	},
	{
		Name: OilTemp, Label: "Oil", Unit: "C", Low: -40, High: 180, Pace: Seldom,
		Use:     "whether two sittings had equally warm oil",
		Request: Request{PID: 0x5C, Size: 1, Scale: 1, Offset: -40},
		Heading: Heading{
			Strong: []string{"oil temp", "oil temperature", "oltemperatur", "oeltemperatur", "eot",
				"temperature huile", "temperatura olio", "temperatura aceite"},
			Also: "engine temp temperature motor eng",
			Not:  "gearbox transmission trans differential diff pressure rear atf clutch"},
	},
	{
		Name: ModuleVoltage, Label: "Supply voltage", Unit: "V", Decimals: 3, Low: 4, High: 35, Pace: Seldom,
		Use:     "whether the alternator charges alike",
		Request: Request{PID: 0x42, Size: 2, Scale: 0.001},
		Heading: Heading{
			Strong: []string{"module voltage", "control module voltage", "battery voltage", "ecu voltage",
				"system voltage", "bordspannung", "batteriespannung", "vbat", "ubat", "voltage battery",
				"tension batterie"},
			Weak: []string{"voltage", "battery", "spannung"},
			Also: "module control battery ecu supply system car vehicle adapter",
			Not:  "throttle pedal tps maf map o2 oxygen lambda knock sensor bank hybrid level current"},
	},
	{
		Name: IntakeTemp, Label: "Intake air", Unit: "C", Low: -40, High: 150, Pace: Seldom,
		Use:     "density of the air that the engine takes in",
		Request: Request{PID: 0x0F, Size: 1, Scale: 1, Offset: -40},
		Heading: Heading{
			Strong: []string{"iat", "intake air temp", "intake air temperature", "intake temp", "intake temperature",
				"inlet air temp", "inlet temp", "air intake temp", "air intake temperature", "ansauglufttemperatur",
				"temperature air admission", "charge air temp", "charge air temperature", "act sensor",
				"temp air admission", "ladelufttemperatur", "temperatura aire admision", "temp aire admision",
				"temperatura aria aspirata", "temp aria", "temperatura ar admissao", "inlaatluchttemperatuur",
				"temperatura powietrza dolotowego", "teplota nasavaneho vzduchu", "insugslufttemperatur",
				"indsugningslufttemperatur", "inntakslufttemperatur", "imuilman lampotila",
				"температура воздуха на впуске", "темп впускного воздуха", "吸気温度", "吸入空気温度", "进气温度", "흡기 온도", "흡기온도",
				"emme havası sıcaklıgı", "szivolevego homerseklet", "temperatura aer admisie"},
			Also:   "intake air temp temperature manifold inlet d",
			Not:    "coolant ambient exhaust oil fuel pressure catalyst",
			Second: "b 2"},
	},
	{
		Name: BarometricPressure, Label: "Air pressure", Unit: "kPa", Low: 40, High: 120, Pace: Seldom,
		Use:     "density of the outside air",
		Request: Request{PID: 0x33, Size: 1, Scale: 1},
		Heading: Heading{
			Strong: []string{"barometric", "baro", "barometer", "barometric pressure", "ambient pressure",
				"atmospheric pressure", "luftdruck", "umgebungsdruck", "pression atmospherique", "bap"},
			Also: "pressure absolute press ambient air",
			Not:  "temp temperature altitude"},
	},
	{
		Name: AmbientTemp, Label: "Outside air", Unit: "C", Low: -40, High: 85, Pace: Seldom,
		Use:     "density of the outside air",
		Request: Request{PID: 0x46, Size: 1, Scale: 1, Offset: -40},
		Heading: Heading{
			Strong: []string{"ambient temp", "ambient temperature", "ambient air temp", "ambient air temperature",
				"outside temp", "outside temperature", "aussentemperatur", "umgebungstemperatur", "aat",
				"temperature exterieure"},
			Also: "air temp temperature outside",
			Not:  "coolant intake pressure light"},
	},
	{
		Name: ReferenceTorque, Label: "Reference torque", Unit: "N m", Low: 10, High: 65535, Pace: Seldom,
		Use:     "the torque of which engine torque is a share",
		Request: Request{PID: 0x63, Size: 2, Scale: 1},
		Heading: Heading{
			Strong: []string{"reference torque", "engine reference torque", "torque reference"},
			Also:   "engine",
			Not:    "percent pct actual"},
	},
	{
		Name: ShortFuelTrim, Label: "Short-term fuel trim", Unit: "%", Decimals: 2, Low: -100, High: 99.3,
		Use:     "the control unit's correction of the fuel now, bank 1: fuel from air flow",
		Request: Request{PID: 0x06, Size: 1, Scale: 100.0 / 128, Offset: -100},
		Heading: Heading{
			Strong: []string{"short term fuel trim", "short fuel trim", "stft", "fuel trim short term"},
			Also:   "bank b1 term percent",
			Not:    "2 3 4 b2 b3 b4 o2 oxygen secondary",
			Own:    "trim correction"},
	},
	{
		Name: LongFuelTrim, Label: "Long-term fuel trim", Unit: "%", Decimals: 2, Low: -100, High: 99.3,
		Use:     "the correction that the control unit has learnt, bank 1: fuel from air flow",
		Request: Request{PID: 0x07, Size: 1, Scale: 100.0 / 128, Offset: -100},
		Heading: Heading{
			Strong: []string{"long term fuel trim", "long fuel trim", "ltft", "fuel trim long term"},
			Also:   "bank b1 term percent",
			Not:    "2 3 4 b2 b3 b4 o2 oxygen secondary",
			Own:    "trim correction"},
	},
	{
		Name: CommandedLambda, Label: "Commanded lambda", Decimals: 5, Low: 0.5, High: 2,
		Use: "air to fuel over what burns completely, as the control unit aims at (equivalence ratio): " +
			"above 1 is lean",
		Request: Request{PID: 0x44, Size: 2, Scale: 2.0 / 65536},
		Heading: Heading{
			Strong: []string{"commanded equivalence ratio", "commanded equiv ratio", "commanded lambda",
				"lambda soll", "target lambda"},
			Also: "fuel air",
			Not:  "bank sensor voltage volts current o2 oxygen",
			Own:  "commanded ratio soll target"},
	},
	{
		Name: FuelRate, Label: "Fuel rate", Unit: "L/h", Decimals: 2, High: 3276.75,
		Use:     "fuel that the engine burns: where trims are not given, and in diesels",
		Request: Request{PID: 0x5E, Size: 2, Scale: 0.05},
		Heading: Heading{
			Strong: []string{"engine fuel rate", "fuel rate", "fuel flow rate"},
			Also:   "engine",
			Not:    "pressure rail temp temperature level trip economy",
			Own:    "rate"},
	},
	{
		Name: SparkAdvance, Label: "Spark advance", Unit: "deg", Decimals: 1, Low: -64, High: 63.5,
		Use: "degrees of crankshaft before top dead centre: whether an engine that is held burns alike on " +
			"both sides",
		Request: Request{PID: 0x0E, Size: 1, Scale: 0.5, Offset: -64},
		Heading: Heading{
			Strong: []string{"timing advance", "ignition timing advance", "spark advance", "ignition advance",
				"ignition timing", "zundwinkel"},
			Also: "cylinder 1 degrees deg before tdc",
			Not:  "cam camshaft vvt injection knock retard target base 2 3 4 5 6 7 8"},
	},
	{
		Name: CanisterPurge, Label: "Canister purge", Unit: "%", Decimals: 1, High: 100,
		Use: "how far the valve that lets vapour of the tank's canister into the engine is open: fuel that the " +
			"trims do not know",
		Request: Request{PID: 0x2E, Size: 1, Scale: 100.0 / 255},
		Heading: Heading{
			Strong: []string{"commanded evaporative purge", "commanded evap purge", "evaporative purge",
				"canister purge", "purge valve"},
			Also: "duty cycle",
			Not:  "pressure vapor vapour flow temp temperature"},
	},
	{
		Name: RunTime, Label: "Run time", Unit: "s", High: 65535,
		Use: "since the engine was started. Some loggers use it as their clock, so no column is read as " +
			"this channel",
		Request: Request{PID: 0x1F, Size: 2, Scale: 1},
	},
	{
		Name: GPSSpeed, Label: "GPS speed", Unit: "km/h", Decimals: 3, High: 450, Receiver: true,
		Use: "speed over ground: scale of the car's own speed",
		Heading: Heading{
			Strong: []string{"gps speed", "gnss speed", "speed over ground", "sog", "gps velocity",
				"gps geschwindigkeit", "vitesse gps", "velocita gps", "velocidad gps", "velocidade gps", "gps spd",
				"gps v", "gpsspeed"},
			Also: "ground vehicle over 2d 3d",
			Not: "wheel vertical up down north east accuracy time engine acceleration heading course limit " +
				"error"},
	},
	{
		Name: Altitude, Label: "Altitude", Unit: "m", Decimals: 1, Low: -500, High: 9000, Receiver: true,
		Use: "height above the sea, by 5 to 15 m and wandering: the slope of the road",
		Heading: Heading{
			Strong: []string{"altitude", "gps altitude", "elevation", "gps elevation", "hohe uber meer", "gps hohe",
				"altitudine"},
			Also: "gps gnss above over mean sea level msl asl",
			Not: "pressure baro barometric barometer vertical speed rate climb geoid ellipsoid temp " +
				"temperature relative",
			Own: "mean"},
	},
	{
		Name: UndrivenSpeed, Label: "Speed of the undriven wheels", Unit: "km/h", Decimals: 3, High: 450,
		Use: "speed without wheelspin; read from other loggers only",
		Heading: Heading{
			Strong: []string{"undriven speed", "non driven speed", "nondriven speed", "undriven wheel speed",
				"non driven wheel speed", "undriven wheels speed"},
			Also: "wheel wheels vehicle mean average avg axle",
			Own:  "mean average avg"},
	},
	{
		Name: ClutchSwitch, Label: "Clutch switch", High: 1,
		Use: "1 with a foot on the clutch, or how far its pedal is down: what the engine does then is no slip; read from other loggers only",
		Heading: Heading{
			Strong: []string{"clutch", "clutch switch", "clutch pedal", "clutch pedal switch", "kupplung",
				"kupplungsschalter", "embrayage", "frizione", "embrague", "clutch pressed", "clutch pedal pressed",
				"clutch state"},
			Also: "switch pedal pressed state position down foot",
			Not:  "temp temperature torque pressure slip speed rpm energy wear brake lockup percent actuator"},
	},
	{
		Name: Latency, Label: "Reply time", Unit: "ms", High: 60000,
		Use:     "from request to reply, measured by the recorder",
		Heading: Heading{Strong: []string{"latency"}, Also: "ms reply", Not: "gps"},
	},
}
