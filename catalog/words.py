"""The words of part descriptions, in several languages: which kind a word says, which place, which length.

Data only. Phrases are lower case, with a space where a hyphen may stand between letters. New words are added here,
never in a reader.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType


def _by_word(groups: Mapping[str, str]) -> dict[str, str]:
    return {phrase.strip(): meaning for meaning, phrases in groups.items() for phrase in phrases.split(",")}


KIND_WORDS: Mapping[str, str] = MappingProxyType(
    _by_word(
        {
            "electrolytic": "elektrolyt, elektrolyte, eletrolitico, alum, lytic, lytics, eletrolítico, elco, elcos, "
            "elektrolit, elektrolityczny, "
            "kondensator elektrolityczny, electrolytische, elektrolytische, elektrolytkondensatoren, elko, elkos, "
            "electrolytic, electrolytics, electrolytic capacitor, electrolytic cap, elcap, e cap, aluminium, "
            "aluminum, aluminium electrolytic, aluminum electrolytic, aluminium can, aluminum can, alu elko, "
            "al elko, aluminium capacitor, aluminum capacitor, aluminium electrolytic capacitor, "
            "aluminum electrolytic capacitor, elektrolytkondensator, becherelko, siebelko, électrolytique, "
            "electrolytique, chimique, condensateur chimique, electrolítico, electrolitico, elettrolitico, "
            "электролит, электролитический",
            "tantalum": "tantalperle, tantalperlen, tantalowy, танталовые, tantalum, tantalum capacitor, tant, "
            "tantal, tantalkondensator, tantalelko, tantale, tantalio, tántalo, тантал, танталовый, tantalum bead",
            "ceramic": "ceramica, cerámica, ceramica a disco, keramisk, keramiska, cerâmico, ker, kerkos, cer, "
            "keramische, keramischer, ceramiczny, "
            "keramický, scheibenkondensator, керам, ceramic, ceramics, ceramic capacitor, ceramic disc, "
            "ceramic disk, disc ceramic, mlcc, kerko, keramik, keramikkondensator, céramique, ceramique, cerámico, "
            "ceramico, керамика, керамический, mica, silver mica, silver mica capacitor, glimmer",
            "film": "polystyrol, polystyrène, polystyrene film, polistirolo, poliestireno, greencap, green cap, "
            "papier, poly film, poly film cap, mkt, mkp, fkp, mkc, foliowy, foliecondensator, "
            "folienkondensatoren, plastfolie, film, film capacitor, film cap, foil, foil capacitor, folie, "
            "folienkondensator, folko, polyester, polyester film, polypropylene, polypropylene film, polystyrene, "
            "paper, paper capacitor, wax paper, paper in oil, papierkondensator, plastique, poliéster, poliestere, "
            "плёночный, пленочный, бумажный",
            "capacitor": "kondenzátor, kondensatorer, kondenzátory, capacitor, capacitors, cap, caps, kondensator, "
            "kondensatoren, condensateur, condensateurs, condensador, condensatore, condensator, конденсатор, "
            "supercap, supercapacitor, edlc, double layer, gold cap, goldcap, kondo",
            "safety-cap": "x kondensator, y kondensator, safety capacitor, safety cap, x cap, y cap, x capacitor, "
            "y capacitor, mains suppression capacitor, interference suppression capacitor, suppression capacitor, "
            "suppressor capacitor, entstörkondensator, funkentstörkondensator, antiparasite",
            "resistor": "metalloxid, metalloxyd, res, odpor, odpory, weerstanden, widerst, rezystory, резисторы, "
            "metallfilm, metaalfilm, "
            "kohlefilm, drahtbrücke, drahtbruecke, wire link, wire bridge, zero ohm link, nullohm, null ohm, "
            "draadweerstand, bobinée, draadgewonden, проволочный, resistor, resistors, widerstand, widerstände, "
            "résistance, resistance, résistances, resistencia, resistenza, resistore, weerstand, motstånd, "
            "opornik, rezystor, резистор, сопротивление, metal film, carbon film, metal film resistor, "
            "carbon film resistor, metal oxide, metal oxide resistor, wirewound, wire wound, wirewound resistor, "
            "carbon composition, carbon comp, carbon composition resistor, metallschicht, kohleschicht, "
            "kohleschichtwiderstand, metallschichtwiderstand, drahtwiderstand, fusible resistor, fuse resistor, "
            "sicherungswiderstand, resistor network, resistor array, widerstandsnetzwerk, jumper resistor",
            "potentiometer": "potencjometr, schiebepoti, schieberegler, drehpoti, trimmpotentiometer, "
            "instelpotmeter, schuifpotmeter, подстроечный, potentiometer, potentiometers, pot, pots, poti, potis, "
            "potentiomètre, potentiometre, potenciómetro, potenciometro, potenziometro, potmeter, потенциометр, "
            "trimmer, trimmers, trimpot, trim pot, trimmpoti, fader, slide pot, volume pot, preset pot, trimmer pot",
            "fuse": "gerätesicherung, geraetesicherung, rohrsicherung, feinsicherungen, g sicherung, "
            "glasrohrsicherung, "
            "sikring, sulake, biztosíték, sigorta, pojistky, fusibles, fusibili, pojistka, slow blow, quick blow, "
            "fast blow, slow blow fuse, quick blow fuse, topiková, "
            "fusível, säkringar, предохранители, bezpieczniki, zekeringen, fuse, fuses, sicherung, sicherungen, "
            "feinsicherung, glassicherung, schmelzsicherung, fusible, fusible verre, fusibile, zekering, säkring, "
            "bezpiecznik, предохранитель, glass fuse, ceramic fuse, cartridge fuse",
            "thermal-fuse": "termofusibile, termofusible, fusible térmico, thermozekering, bezpiecznik termiczny, "
            "termobezpiecznik, thermal fuse, thermal link, thermal cutoff, thermal cut off, thermosicherung, "
            "temperatursicherung, fusible thermique, термопредохранитель",
            "ptc": "ptc, pptc, ptc fuse, resettable fuse, selbstrückstellende sicherung",
            "diode": "zenera, dioda zenera, диоды, dioden, gelijkrichter, prostownik, diode, diodes, diodo, dioda, "
            "диод, rectifier, rectifier diode, zener, zener diode, zenerdiode, z diode, schottky, schottky diode, "
            "bridge rectifier, brückengleichrichter, gleichrichter, стабилитрон",
            "transistor": "npn, pnp, tranzystor, транзисторы, transistor, transistors, transistoren, транзистор, "
            "transistore, mosfet, jfet, fet, bjt, darlington",
            "regulator": "stabilizator, spanningsregelaar, regulador de tensión, régulateur de tension, "
            "regolatore di tensione, regulator, voltage regulator, linear regulator, spannungsregler, régulateur, "
            "regulador, regolatore, ldo, ldo regulator, стабилизатор",
            "battery": "mignon, mignonzelle, mignonzellen, micro akku, microzelle, microzellen, micro zelle, "
            "baby akku, "
            "babyzelle, babyzellen, baby zelle, mono akku, monozelle, monozellen, mono zelle, lady akku, ladyzelle, "
            "lady zelle, "
            "pp3, 9v block, 9 v block, block 9v, block 9 v, 9 volt block, e block, blockbatterie, block battery, "
            "flachbatterie, "
            "knopfzellen, knoopcellen, pila boton, pila botón, pila de botón, batterier, baterie, bateria, "
            "pila a bottone, pilas, "
            "akumulator, knoopcel, аккумуляторы, батарейки, aa, aaa, aa cell, aaa cell, aa battery, lithium ion, "
            "li po, lithium polymer, nimh, nicd, ni mh, ni cd, nicad, nimh pack, nicd pack, li ion, lipo, battery, "
            "batteries, battery pack, cell, cells, coin cell, button cell, batterie, knopfzelle, akku, akkupack, "
            "accu, batteria, pile, pile bouton, pila, batería, batterij, батарейка, аккумулятор, батарея",
            "switch": "przełącznik, wyłącznik, schakelaar, drukknop, tuimelschakelaar, schuifschakelaar, przycisk, "
            "brytare, strömbrytare, switch, switches, push switch, push button, pushbutton, push button switch, "
            "pushbutton switch, tact switch, tactile switch, tact, tactile, tact push switch, microswitch, "
            "micro switch, slide switch, toggle switch, rotary switch, leaf switch, rocker switch, power switch, "
            "detector switch, schalter, taster, kurzhubtaster, drucktaster, schiebeschalter, kippschalter, "
            "drehschalter, mikroschalter, interrupteur, bouton poussoir, commutateur, interruptor, pulsador, "
            "interruttore, pulsante, кнопка, переключатель, выключатель",
            "connector": "złącze, gniazdo, wtyk, connecteurs, stekker, konnektor, connector, connectors, socket, "
            "header, pin header, jack, plug, stecker, buchse, steckverbinder, stiftleiste, buchsenleiste, "
            "connecteur, conector, connettore, разъём, разъем, dc jack, jack socket, zif connector, ffc connector, "
            "fpc connector, battery connector, edge connector, cartridge connector, zif socket",
            "ffc": "ffc, fpc, ffc cable, fpc cable, flat flex, flat flex cable, flexible flat cable, flat cable, "
            "ribbon, ribbon cable, flex cable, flachbandkabel, folienkabel, nappe, шлейф",
            "belt": "snaren, pasek, pasek napędowy, drivremmar, ремни, пассики, courroies, cinghie, belt, belts, "
            "drive belt, square belt, flat belt, round belt, riemen, antriebsriemen, vierkantriemen, flachriemen, "
            "rundriemen, courroie, correa, cinghia, aandrijfsnaar, snaar, drivrem, ремень, пассик",
            "foot": "foot, feet, rubber foot, rubber feet, gummifuß, gummifüße, gummifuss, gerätefuß, "
            "pied caoutchouc, pieds",
            "pickup": "pickup, pick up, optical pickup, laser pickup, optical pick up, laser unit, laser head, "
            "laser, lasers, laser assembly, lasereinheit, laufwerklaser, bloc optique, лазерная головка",
            "motor": "silnik, motores, motor, motors, moteur, motore, spindle motor, deck motor, capstan motor, "
            "мотор, двигатель, dc motor",
            "crystal": "kwarc, kristal, kwarts, кварцевый, crystal, crystals, xtal, quarz, quartz, quartz crystal, "
            "cristal, cristallo, кварц, resonator, ceramic resonator, keramikresonator, oscillator module, "
            "crystal oscillator, watch crystal, uhrenquarz",
            "psu": "plug in supply, plug in power supply, plug in adapter, plug in adaptor, zasilacz, voeding, "
            "netvoeding, nätadapter, netadapter, adaptateur secteur, adaptador, psu, power supply, "
            "power supply unit, power adapter, power adaptor, ac adapter, ac adaptor, adapter, adaptor, "
            "mains adapter, mains adaptor, wall wart, netzteil, steckernetzteil, alimentation, bloc secteur, "
            "alimentador, alimentatore, fuente de alimentación, блок питания, dc adapter, dc adaptor",
            "inductor": "ind, bobine, bobina, cewka, dławik, smoorspoel, самоиндукция, катушка, inductor, "
            "inductors, coil, choke, drossel, spule, inductance, inductancia, induttore, дроссель",
            "ferrite": "ferrite, ferrite bead, ferritperle, chip bead, perle ferrite",
            "thermistor": "thermistance, termistor, termistore, ctn, thermistor, ntc, ntc thermistor, heißleiter, "
            "heissleiter, термистор",
            "wire": "drut, fil, filo, hilo, wire, hookup wire, hook up wire, enamelled wire, draht, litze, провод, awg",
            "listed": "led diode, diode led, dioda led, led dioda, diodo led, led, leds, leuchtdiode, leuchtdioden, "
            "light emitting diode, светодиод, светодиоды, varistor, "
            "varistors, vdr, "
            "mov, варистор, battery cover, battery door, battery compartment, battery clip, cell holder, batteriefach, "
            "cell holders, battery holders, holders, battery box, battery boxes, battery tray, battery case, "
            "batteriebox, portapilas, portapile, porte pile, porte piles, coupleur de piles, батарейный отсек, "
            "batteriedeckel, antenna, antenne, headphone, headphones, headset, kopfhörer, earphone, microphone, "
            "mikrofon, heating element, heizelement, heater, board, circuit board, power board, pcb, platine, "
            "button board, keypad, remote control, fernbedienung, fan, lüfter, solenoid, buzzer, piezo, heatsink, "
            "kühlkörper, thyristor, triac, optocoupler, optokoppler, sensor, stick module, analogue stick, "
            "analog stick, module, modul, ic, chip ic, integrated circuit, relay, relays, relais, реле, "
            "lamp, bulb, lampe, glühlampe, skalenlampe, ampoule, bombilla, lampada, lampje, лампа, лампочка, display, "
            "loudspeaker, loudspeakers, speakers, subwoofer, woofer, tweeter, haut parleur, haut parleurs, altavoz, "
            "altavoces, altoparlante, altoparlanti, luidspreker, głośnik, högtalare, динамик, громкоговоритель, "
            "earpiece, earphones, in ear, hörkapsel, encoder, rotary encoder, drehgeber, panel meter, vu meter, "
            "level meter, ammeter, voltmeter, milliammeter, galvanometer, dummy load, balun, aerial, exciter, "
            "transducer, coax, ldr, photoresistor, fotowiderstand, photo cell, photocell, solar cell, solar panel, "
            "load cell, strain gauge, pt100, pt1000, thermocouple, varicap, delay line, probe, neon, "
            "fuse wire, fuse clip, fuse clips, fusible link, tuning capacitor, variable capacitor, drehkondensator, "
            "drehko, ceramic filter, saw filter, ignition lead, "
            "speaker, tape head, pinch roller, idler, gear, stylus, cartridge, tuner, transformer, holder, "
            "fuse holder, battery holder, sicherungshalter, batteriehalter, lautsprecher, andruckrolle, zahnrad",
        }
    )
)
"""Phrase to kind. `capacitor` says no construction; any of the five capacitor kinds is a closer word for it."""

FUSE_SPEED_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        **dict.fromkeys(
            (
                *("flink", "flinke", "flinker", "flinkes", "superflink", "mittelträge", "mitteltraege", "träge"),
                *("träger", "träges", "traege", "superträge", "trög", "træg", "treg", "traag", "trage", "zwłoczny"),
                *("zwłoczna", "bezzwłoczny", "slow", "slow acting", "fast acting", "quick acting", "anti surge"),
                *("antisurge", "time lag", "time delay", "lent", "lente", "lento", "lenta", "temporisé", "temporisée"),
                *("retardé", "retardée", "ritardato", "ritardata", "retardado", "retardada", "замедленный", "延时"),
            ),
            ("fuse",),
        ),
        **dict.fromkeys(
            ("fast", "quick", "rapide", "rapido", "rápido", "snel", "szybki", "быстродействующий"), ("diode", "fuse")
        ),
    }
)
"""What a word of speed beside amperes names where nothing else says the part (common practice): diodes are fast too."""

ROLE_WORDS: Mapping[str, str] = MappingProxyType(
    _by_word(
        {
            "timing": "timing, time constant",
            "oscillator": "oscillator capacitor, oscillator circuit, for oscillator",
            "crossover": "crossover, frequenzweiche, filtre enceinte",
            "network": "filter network, frequency network, tone network",
            "coupling": "coupling, koppel, kopplung, koppelkondensator, couplage, liaison",
            "filter": "filter, smoothing, reservoir, filtering, glättung, filtrage, siebung",
            "bypass": "bypass, decoupling, abblock, découplage, entkopplung",
            "snubber": "snubber, snubber position",
            "ldo-output": "ldo output, regulator output",
            "charging": "charging circuit, charged in circuit",
            "mains": "mains side, mains, netz, secteur",
        }
    )
)

DIMENSION_WORDS: Mapping[str, str] = MappingProxyType(
    _by_word(
        {
            "height": "h, height, high, tall, höhe, hoch, hauteur, altura, altezza, hoogte, wysokość, высота, "
            "actuator, actuator height",
            "pitch": "rm, pitch, raster, rastermaß, lead spacing, spacing, ls, pas, paso, passo, шаг",
            "diameter": "ø, dia, diam, diameter, durchmesser, d, diamètre, diámetro, diametro, диаметр",
            "length": "l, length, long, lang, länge, longueur, largo, lunghezza, длина",
            "width": "w, width, wide, breit, breite, breedte, largeur, ancho, larghezza, ширина",
            "thickness": "thick, thickness, dick, dicke, dikte, épaisseur, espesor, spessore, толщина, t",
            "circumference": "circumference, inside circumference, inner circumference, ic, loop, umfang, "
            "innenumfang, omtrek, binnenomtrek, obwód, circ, circonférence, circunferencia, circonferenza, "
            "длина окружности",
            "inside_diameter": "inside diameter, inner diameter, id, inside dia, innendurchmesser, i d, "
            "internal diameter, diametro interno, diámetro interior, diamètre intérieur, binnendiameter, "
            "внутренний диаметр, średnica wewnętrzna",
            "shaft": "shaft, welle, axe, achse",
            "recess": "recess",
        }
    )
)
"""Words beside a length that say which length it is."""

SMALL_WORDS: Mapping[str, bool] = MappingProxyType(
    dict.fromkeys(
        ("tolerance", "toleranz", "rated", "rating", "code", "marked", "marking", "mark", "stamped", "printed"), True
    )
)
"""Words that add no fact of their own once the value beside them is read."""
MARK_WORDS = (
    "marked",
    "marking",
    "mark",
    "stamped",
    "printed",
    "code",
    "aufdruck",
    "gestempelt",
    "marquage",
    "маркировка",
)
VINTAGE_WORDS = (
    *("vintage", "old", "antique", "valve", "tube", "mica", "wax", "paper", "pre war", "prewar", "1930s", "1940s"),
    *("1950s", "1960s", "1970s", "papier", "papierkondensator", "бумажный", "glimmer"),
)
