"""The words that state attributes, by kind of part, in several languages.

Data only. Phrases are lower case, with a space where a hyphen may stand between letters.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

Effect = tuple[str, str | bool]
"""Attribute name and the word it gets, or True for a flag."""


def _effects(groups: Mapping[Effect, str]) -> Mapping[str, tuple[Effect, ...]]:
    table: dict[str, tuple[Effect, ...]] = {}
    for effect, phrases in groups.items():
        for phrase in phrases.split(","):
            table[phrase.strip()] = (*table.get(phrase.strip(), ()), effect)
    return MappingProxyType(table)


_STYLE: dict[Effect, str] = {
    ("style", "radial"): "радиальный, radial, stehend, radiale, stående, staand",
    ("style", "axial"): "аксиальный, axial, liegend, axiale, assiale, liggande, liggend",
    ("style", "smd"): "smd, surface mount, smt",
    ("style", "snap-in"): "snap in, snapin",
    ("style", "chip"): "chip",
    ("style", "leaded"): "leaded, bedrahtet, through hole, tht",
}
_FILM_TYPES: dict[Effect, str] = {
    ("dielectric", "PET"): "polyester, polyester film, mkt, pet, poliéster, poliestere, poliester",
    (
        "dielectric",
        "PP",
    ): "polypropylene, polypropylene film, mkp, fkp, pp, polypropylen, polypropylène, polipropileno, polipropilene",
    ("dielectric", "PS"): "polystyrene, polystyrol, polystyrène, polistirolo, poliestireno, ks, fks",
    ("dielectric", "PC"): "polycarbonate, mkc",
    ("dielectric", "PPS"): "pps, mki",
    ("dielectric", "PEN"): "pen, mkn",
    ("dielectric", "paper"): "paper, wax paper, paper in oil, paper capacitor, papierkondensator, papier, бумажный",
}
_SWITCH_FORM: dict[Effect, str] = {
    ("form", "tact"): "tact, tactile, tact switch, tactile switch, tact push switch, kurzhubtaster",
    (
        "form",
        "push",
    ): "push switch, push button, pushbutton, push button switch, pushbutton switch, push, drucktaster, taster, "
    "bouton poussoir, pulsador, pulsante, кнопка",
    ("form", "slide"): "slide, slide switch, schiebeschalter, sliding, suwakowy, schuifschakelaar",
    ("form", "toggle"): "toggle, toggle switch, kippschalter, tuimelschakelaar",
    ("form", "rotary"): "rotary, rotary switch, drehschalter",
    ("form", "micro"): "microswitch, micro switch, mikroschalter, micro",
    ("form", "leaf"): "leaf, leaf switch",
    ("form", "rocker"): "rocker, rocker switch",
}

_POLARISED: dict[Effect, str] = {
    ("low_esr", True): "low esr, low z, low impedance, lowesr",
    ("bipolar", True): "bipolar, bi polar, non polar, nonpolar, non polarised, non polarized, nonpolarised, "
    "nonpolarized, unpolarised, unpolarized, unpolar, non polarity, np, bp, bipolaire, non polarisé, no polarizado, "
    "non polarizzato, ungepolt, ongepolariseerd, opolariserad, неполярный",
    ("polymer", True): "polymer, solid polymer, conductive polymer",
}

COLOUR_WORDS: Mapping[str, str] = MappingProxyType(
    {
        phrase.strip(): colour
        for colour, phrases in {
            "red": "red, rot, rote, roter, rouge, rojo, roja, rosso, rossa, rood, rode, röd, czerwona, czerwony, "
            "красный",
            "green": "green, grün, grüne, gruen, vert, verte, verde, groen, groene, grön, zielona, zielony, "
            "зелёный, зеленый",
            "yellow": "yellow, gelb, gelbe, jaune, amarillo, amarilla, giallo, gialla, geel, gele, gul, żółta, "
            "жёлтый, желтый",
            "blue": "blue, blau, blaue, bleu, bleue, azul, blu, blauw, blauwe, blå, niebieska, синий",
            "white": "white, weiß, weiss, weiße, blanc, blanche, blanco, blanca, bianco, bianca, wit, witte, vit, "
            "biała, белый",
            "orange": "orange, naranja, arancione, oranje, amber, bernstein, pomarańczowa, оранжевый",
            "infrared": "infrared, infra red, infrarot, infrarouge, infrarrojo, infrarosso, ir, ик",
        }.items()
        for phrase in phrases.split(",")
    }
)
"""Colours of light-emitting diodes, by language."""

ATTRIBUTE_WORDS: Mapping[str, Mapping[str, tuple[Effect, ...]]] = MappingProxyType(
    {
        "electrolytic": _effects({**_STYLE, **_POLARISED}),
        "tantalum": _effects(
            {
                **_STYLE,
                ("polymer", True): "polymer",
                ("style", "bead"): "bead, drop, tantalum bead, tantalperle, tantalperlen, tropfen, goutte",
            }
        ),
        "ceramic": _effects(
            {
                **_STYLE,
                ("style", "disc"): "disco, a disco, de disco, disc, disk, ceramic disc, disc ceramic, "
                "ceramic disk, scheibe, disque",
            }
        ),
        "film": _effects({**_STYLE, **_FILM_TYPES}),
        "safety-cap": _effects({**_STYLE, **_FILM_TYPES}),
        "capacitor": _effects({**_STYLE, **_POLARISED}),
        "resistor": _effects(
            {
                **_STYLE,
                (
                    "composition",
                    "metal-film",
                ): "metal film, metal film resistor, metallschicht, metallschichtwiderstand, metallfilm, metaalfilm, "
                "couche métal, couche métallique, película metálica",
                (
                    "composition",
                    "carbon-film",
                ): "carbon film, carbon film resistor, kohleschicht, kohleschichtwiderstand, kohlefilm, "
                "couche carbone, koolfilm, película de carbón, carvão, de carvão",
                ("composition", "carbon-composition"): "carbon composition, carbon comp, carbon composition resistor",
                ("composition", "metal-oxide"): "metal oxide, metal oxide resistor, metalloxid, metalloxyd, "
                "oxyde métallique",
                ("composition", "wirewound"): "wirewound, wire wound, wirewound resistor, drahtwiderstand, "
                "bobinée, bobiné, draht, draadgewonden, draadweerstand, проволочный",
                ("fusible", True): "fusible, fusible resistor, fuse resistor, fusing, fusing resistor, fusable, "
                "sicherungswiderstand, abschmelzwiderstand, résistance fusible",
                (
                    "flameproof",
                    True,
                ): "flameproof, flame proof, flame retardant, non flammable, nonflammable, fireproof, fire proof, "
                "safety, safety resistor, unbrennbar, nicht brennbar, flammhemmend, ininflammable, ignífugo, ignifugo",
                ("non_inductive", True): "non inductive",
                ("network", True): "resistor network, resistor array, widerstandsnetzwerk",
                ("circuit", "bussed"): "bussed",
                ("circuit", "isolated"): "isolated",
            }
        ),
        "potentiometer": _effects(
            {
                ("taper", "lin"): "lin, linear, linéaire, lineal, lineare, линейный, liniowy, lineair",
                ("taper", "log"): "log, logarithmic, audio taper, audio, logarithmisch, logarithmique, logaritmico, "
                "logarítmico, логарифмический, logarytmiczny, logaritmisch",
                ("taper", "revlog"): "revlog, rev log, reverse log, anti log, antilog, reverse audio",
                ("taper_region", "asia"): "japan, japanese, asia, asian, us, usa, american",
                ("taper_region", "europe"): "europe, european, old european",
                ("mains_switch", True): "mains switch, with switch, mit schalter, switched",
                ("tap", True): "tap, loudness tap, tapped",
                ("detent", True): "detent, centre detent, center detent",
                ("turns", "multi"): "multiturn, multi turn",
                ("turns", "single"): "single turn",
                ("shaft", "D"): "d shaft",
                ("shaft", "spline"): "spline, splined, knurled",
                ("shaft", "round"): "round shaft",
            }
        ),
        "fuse": _effects(
            {
                (
                    "speed",
                    "F",
                ): "fast, quick, quick blow, quick acting, fast acting, fast blow, flink, flinke, flinker, flinkes, "
                "rapide, rapido, rapida, rápido, rápida, szybki, szybka, bezzwłoczny, snel, snelle, rychlá, rychla, "
                "gyors, "
                "быстродействующий, быстрый, быстрая",
                (
                    "speed",
                    "T",
                ): "slow, slow blow, slow acting, time lag, time delay, träge, träger, träges, traege, temporisé, "
                "temporisée, lent, lente, lento, lenta, ritardato, ritardata, traag, trage, zwłoczny, zwłoczna, "
                "trög, træg, "
                "treg, retardé, retardée, retardado, retardada, pomalá, pomala, lomha, замедленный, медленный, "
                "инерционный, "
                "anti surge, antisurge, 延时",
                ("speed", "FF"): "very fast, super quick, superflink, superflinke, super flink, ultra rapide",
                (
                    "speed",
                    "M",
                ): "mittelträge, mittelträger, mitteltraege, mittel träge, medium blow, medium, semi retardé, "
                "semiritardato",
                ("speed", "TT"): "superträge, supertraege, super träge, very slow",
                ("material", "glass"): "glass, glas, verre, vetro, vidrio, vidro, szklany, skleněná, стекло, "
                "стеклянный",
                ("material", "ceramic"): "ceramic, keramik, keramisch, keramische, céramique, ceramica, cerámica, "
                "ceramiczny, keramická, керамика, керамический, sand filled, sandgefüllt, sand",
                ("system", "IEC"): "iec, iec 60127",
                ("system", "UL"): "ul, ul 248",
                ("breaking", "H"): "hbc, hrc, high breaking, high breaking capacity, high rupturing capacity, "
                "hohes schaltvermögen, hohes ausschaltvermögen, haut pouvoir de coupure",
                ("breaking", "E"): "ebc, enhanced breaking capacity, erhöhtes schaltvermögen",
                ("breaking", "L"): "lbc, low breaking, low breaking capacity, kleines schaltvermögen",
                ("leads", "pigtail"): "pigtail, wired, axial leads, axial, leaded",
                ("leads", "cartridge"): "cartridge, cartridge fuse",
                ("body", "TR5"): "tr5",
                ("body", "2AG"): "2ag",
                ("body", "6.3x32"): "3ag",
                ("body", "SMD"): "smd",
            }
        ),
        "thermal-fuse": _effects(
            {
                ("resettable", True): "resettable, reset, resetting, self resetting, auto resetting, auto reset, "
                "automatic reset, manual reset, rückstellbar, selbstrückstellend, réarmable, rearmable, riarmabile",
                ("lead_form", "axial"): "axial",
            }
        ),
        "diode": _effects(
            {
                ("recovery", "standard"): "standard recovery, standard",
                ("recovery", "fast"): "fast, fast recovery",
                ("recovery", "ultrafast"): "ultrafast, ultra fast",
                ("recovery", "schottky"): "schottky, schottky diode",
                ("material", "germanium"): "germanium",
                ("material", "silicon"): "silicon",
                ("bridge", True): "bridge, bridge rectifier, brückengleichrichter, brücke, pont, мост",
                ("package", "smd"): "smd",
            }
        ),
        "transistor": _effects(
            {
                ("polarity", "npn"): "npn",
                ("polarity", "pnp"): "pnp",
                ("polarity", "n-mos"): "n mosfet, n channel mosfet, n channel, nmos",
                ("polarity", "p-mos"): "p mosfet, p channel mosfet, p channel, pmos",
                ("polarity", "n-jfet"): "n jfet, n channel jfet",
                ("polarity", "p-jfet"): "p jfet, p channel jfet",
                ("material", "germanium"): "germanium",
                ("material", "silicon"): "silicon",
                ("matched", True): "matched, matched pair",
                ("isolated_tab", True): "isolated tab, isolated",
            }
        ),
        "regulator": _effects(
            {
                ("ldo", True): "ldo, low dropout, ldo regulator",
                ("adjustable", True): "adjustable, einstellbar, variable, réglable, ajustable, regolabile, "
                "regelbaar, regelbar, "
                "регулируемый",
                ("polarity", "negative"): "negative, negativ, negativer, négatif, negativo, negatief, ujemny, "
                "отрицательный, neg",
                ("polarity", "positive"): "positive, positiv, positiver, positif, positivo, positief, dodatni, "
                "положительный, pos",
                ("switching", True): "switching, switching module, buck",
            }
        ),
        "battery": _effects(
            {
                ("chemistry", "nimh"): "nimh, ni mh, nimh pack, ni mh pack, nimh battery pack",
                ("chemistry", "nicd"): "nicd, ni cd, nicad, nicd pack, ni cd pack, nicad pack, nicd battery pack",
                ("chemistry", "li-ion"): "li ion, lithium ion, li po, lipo, lithium polymer",
                ("chemistry", "alkaline"): "alkaline, alkali, alcalina, alcaline, alkalisch, alkaliczna, щелочная",
                ("chemistry", "silver-oxide"): "silver oxide",
                (
                    "terminals",
                    "tabs",
                ): "with tabs, tabs, tabbed, tab, solder tabs, solder tab, with solder tabs, mit lötfahnen, "
                "lötfahnen, lötfahne, "
                "mit lötfahne, à souder, con linguette, with tags, solder tags, tagged",
                (
                    "terminals",
                    "wires",
                ): "with wires, wires, leads, with leads, with wire, with plug, mit stecker, "
                "mit kabel, with connector, wired",
                ("terminals", "bare"): "bare, without tabs, no tabs",
                ("rechargeable", True): "rechargeable, akku, akkupack, wiederaufladbar, аккумулятор",
                ("protected", True): "protected, with protection",
                ("charging_circuit", True): "charging circuit, charged in circuit",
            }
        ),
        "switch": _effects(
            {
                **_SWITCH_FORM,
                (
                    "action",
                    "momentary",
                ): "momentary, non latching, tastend, momentané, non locking, taster, kurzhubtaster, drucktaster",
                ("action", "latching"): "latching, push push, push on push off, rastend, locking, self locking",
                ("shorting", True): "shorting, make before break",
                ("mains_approved", True): "mains, mains approved, mains rated",
                ("low_level", True): "gold, gold contacts, gold contact, low level",
                ("illuminated", True): "illuminated, with led, beleuchtet",
                ("detector", True): "detector, detector switch",
                ("normally", "open"): "normally open, no contact",
                ("normally", "closed"): "normally closed",
            }
        ),
        "connector": _effects(
            {
                ("gender", "male"): "male, plug, stecker, pin header, stiftleiste",
                (
                    "gender",
                    "female",
                ): "female, socket, buchse, buchsenleiste, jack, jack socket, dc jack, receptacle, zif socket",
                ("mount", "straight"): "straight, vertical",
                ("mount", "angle"): "angled, right angle, angle, gewinkelt",
                ("mount", "smd"): "smd, surface mount",
                ("plating", "gold"): "gold, gold plated",
                ("plating", "tin"): "tin, tinned",
                ("family", "pin header"): "pin header, stiftleiste",
                ("family", "idc"): "idc",
                ("family", "zif"): "zif, zif connector, zif socket",
                ("family", "dc jack"): "dc jack",
                ("family", "d-sub"): "d sub",
                ("latch", "locking"): "latch, latching, locking",
                ("both_halves", True): "both halves, plug and socket, pair",
            }
        ),
        "ffc": _effects(
            {
                ("contact_sides", "same"): "type a, same side, same sides, contacts same side",
                ("contact_sides", "opposite"): "type d, opposite, opposite side, opposite sides, contacts opposite",
                ("contact_sides", "type-b"): "type b",
                ("contact_sides", "type-c"): "type c",
                ("shielded", True): "shielded",
                ("flex_grade", True): "flex grade, high flex, flex life",
            }
        ),
        "belt": _effects(
            {
                (
                    "section",
                    "square",
                ): "square, sq, square belt, vierkant, vierkantriemen, carré, carrée, cuadrada, quadrata, квадратный",
                ("section", "flat"): "flat, flat belt, flach, flachriemen, plate, plana, piatta, плоский",
                ("section", "round"): "round, round belt, rund, rundriemen, ronde, redonda, tonda, круглый",
                ("basis", "measured"): "measured, old belt, off the old belt, from old belt, alt gemessen",
                ("basis", "path"): "string, string length, path, path length, by string",
                ("basis", "nominal"): "new, nominal, new size",
            }
        ),
        "foot": _effects(
            {
                ("fixing", "adhesive"): "adhesive, self adhesive, selbstklebend, stick on",
                ("fixing", "screw"): "screw, screw on, geschraubt, schraubbar, with screw",
                ("fixing", "push-in"): "push in, push fit",
            }
        ),
        "pickup": _effects({("with_mechanism", True): "with mechanism, with mech, complete mechanism, mit laufwerk"}),
        "motor": _effects(
            {
                ("rotation", "cw"): "cw, clockwise, rechtslauf, sens horaire",
                (
                    "rotation",
                    "ccw",
                ): "ccw, anticlockwise, counterclockwise, counter clockwise, linkslauf, anti clockwise",
                ("governed", True): "governed, regulated speed, constant speed, with governor, geregelt",
                ("plain", True): "plain, ungoverned, not governed",
            }
        ),
        "crystal": _effects(
            {
                ("mode", "fundamental"): "fundamental",
                ("mode", "overtone"): "overtone, 3rd overtone, third overtone",
                ("element", "resonator"): "resonator, ceramic resonator, keramikresonator",
                ("element", "module"): "oscillator module, crystal oscillator",
                (
                    "element",
                    "crystal",
                ): "crystal, quartz, quarz, xtal, quartz crystal, watch crystal, uhrenquarz, кварц",
                ("series", True): "series, series resonant",
                ("timekeeping", True): "timekeeping, watch crystal, uhrenquarz, clock, colour, color, video",
            }
        ),
        "psu": _effects(
            {
                (
                    "polarity",
                    "centre-positive",
                ): "плюс внутри, плюс в центре, plus au centre, positif au centre, positivo centrale, plus binnen, "
                "centre positive, center positive, centre plus, center plus, plus innen, innen plus, tip positive",
                (
                    "polarity",
                    "centre-negative",
                ): "минус внутри, минус в центре, moins au centre, négatif au centre, negativo centrale, min binnen, "
                "centre negative, center negative, centre minus, center minus, minus innen, innen minus, "
                "tip negative",
                ("output", "dc"): "dc, dc adapter, dc adaptor, gleichspannung",
                ("output", "ac"): "ac output, ac ac, wechselspannung, alternatif, alterna",
                ("regulated", True): "regulated, stabilised, stabilized, stabilisiert",
                ("linear", True): "linear",
                ("earthed", True): "earthed, grounded, class i",
            }
        ),
    }
)
"""By kind: phrase to the attributes it states."""
