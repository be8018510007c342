"""Where every number comes from: the bibliography, and constants as records (value, unit, source)."""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE = "common practice, no source"

# key -> what a reader needs to find it. "(memory)" = not seen by the editors, quoted from memory.
BIBLIOGRAPHY: dict[str, str] = {
    "ashrae_f01": "ASHRAE Handbook — Fundamentals 2017 (SI), chapter 1, Psychrometrics",
    "ashrae_apps": "ASHRAE Handbook — HVAC Applications, Natatoriums: evaporation and activity factors",
    "carrier_1918": "Carrier, W. H. 1918, The temperature of evaporation; quoted in ASHRAE HVAC Applications",
    "smith_1994": "Smith, C. C., Löf, G., Jones, R. 1994, Measurement and analysis of evaporation from an inactive "
    "outdoor swimming pool, Solar Energy 53(1) (abstract read)",
    "rafferty_boyd": "Rafferty, K., Boyd, T., Aquaculture Information Package, Geo-Heat Center",
    "ryan_harleman_1973": "Ryan, P. J., Harleman, D. R. F. 1973, An analytical and experimental study of transient "
    "cooling pond behavior, MIT; as given in the CE-QUAL-W2 manual",
    "penman_1948": "Penman, H. L. 1948, Natural evaporation from open water, bare soil and grass, Proc. R. Soc. A 193",
    "penman_1956": "Penman, H. L. 1956, Evaporation: an introductory survey, Netherlands J. Agric. Sci. 4",
    "brady_1969": "Brady, D. K., Graves, W. L., Geyer, J. C. 1969; in Chapra, S. C., Surface Water-Quality Modeling, "
    "eqn 30.22",
    "vdi_2089": "VDI 2089 Blatt 1, Building services in swimming baths",
    "shah_2012": "Shah, M. M. 2012/2014, evaporation from water pools, ASHRAE Transactions (table read; formula from "
    "memory, agrees with the table to 0.3 %)",
    "fao_56": "Allen, R. G. et al. 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56",
    "iapws_95": "IAPWS-95 formulation for ordinary water, Wagner & Pruß 2002 (tabulated values)",
    "kell_1975": "Kell, G. S. 1975, Density, thermal expansivity and compressibility of liquid water, J. Chem. Eng. "
    "Data 20(1) (memory)",
    "codata_2018": "CODATA 2018 recommended values of the fundamental constants",
    "berdahl_martin_1984": "Berdahl, P., Martin, M. 1984, Emissivity of clear skies, Solar Energy 32(5)",
    "swinbank_1963": "Swinbank, W. C. 1963, Long-wave radiation from clear skies, Q. J. R. Meteorol. Soc. 89",
    "brutsaert_1975": "Brutsaert, W. 1975, On a derivable formula for long-wave radiation from clear skies, Water "
    "Resources Research 11(5)",
    "idso_jackson_1969": "Idso, S. B., Jackson, R. D. 1969, Thermal radiation from the atmosphere, J. Geophys. Res. 74",
    "clark_allen_1978": "Clark, G., Allen, C. 1978, The estimation of atmospheric radiation for clear and cloudy skies",
    "walton_1983": "Walton, G. N. 1983, Thermal Analysis Research Program reference manual, NBSIR 83-2655",
    "crawford_duchon_1999": "Crawford, T. M., Duchon, C. E. 1999, An improved parameterization for estimating "
    "effective atmospheric emissivity for use in calculating daytime downwelling longwave "
    "radiation, J. Appl. Meteorol. 38 "
    "(equation read where others reprint it, the paper not seen)",
    "martin_berdahl_1984": "Martin, M., Berdahl, P. 1984, Characteristics of infrared sky radiation in the United "
    "States, Solar Energy 33(3/4) (title read; its cloud equation from memory)",
    "csls_data": "CSLSdata 1.0, Central Sands Lakes Study, Wisconsin Department of Natural Resources, copyright 2019 "
    "Carolyn Voter, MIT licence",
    "flerchinger_2009": "Flerchinger, G. N. et al. 2009, Comparison of algorithms for incoming atmospheric long-wave "
    "radiation, Water Resources Research 45 (abstract read)",
    "wmo_8": "WMO-No. 8, Guide to Instruments and Methods of Observation, radiation: pyrgeometers (memory)",
    "mcadams_1954": "McAdams, W. H. 1954, Heat Transmission, 3rd edition",
    "czarnecki_1978": "Czarnecki, J. T. 1978, Swimming pool heating by solar energy, CSIRO",
    "watmuff_1977": "Watmuff, J. H. et al. 1977, Solar and wind induced external coefficients (memory)",
    "iso_6946": "ISO 6946:2007, Thermal resistance and thermal transmittance",
    "iso_13370": "ISO 13370:2007, Heat transfer via the ground",
    "iso_13370_wall": "ISO 13370, basement wall (memory)",
    "iso_10456": "ISO 10456 / EN 12524:2000, tabulated design values of conductivity",
    "merkel_1925": "Merkel, F. 1925, Verdunstungskühlung, VDI-Forschungsarbeiten 275: enthalpy as driving force",
    "cal_poly_2015": "California Polytechnic State University 2015, evaporation under pool covers, eight pools, "
    "90 days",
    "doe_covers": "US Department of Energy, guidance on swimming pool covers",
    "spencer_1971": "Spencer, J. W. 1971, Fourier series representation of the position of the sun, Search 2(5), "
    "through pvlib",
    "ineichen_2008": "Ineichen, P. 2008, A broadband simplified version of the Solis clear sky model, Solar Energy "
    "82(8), through pvlib",
    "kasten_czeplak_1980": "Kasten, F., Czeplak, G. 1980, Solar and terrestrial radiation dependent on the amount and "
    "type of cloud, Solar Energy 24(2) (memory)",
    "larson_2016": "Larson, D. P., Nonnenmacher, L., Coimbra, C. F. M. 2016, Day-ahead forecasting of solar power "
    "output, Renewable Energy 91: sun = clear-sky sun × (1 − 0.65 cloud) (memory)",
    "try_2010": "German test reference years 2010, Deutscher Wetterdienst and BBSR, base 1988–2007",
    "tmy3_manual": "Wilcox, S., Marion, W. 2008, Users manual for TMY3 data sets, NREL/TP-581-43156",
    "tmy2_manual": "Marion, W., Urban, K. 1995, User's manual for TMY2s, NREL",
    "epw_format": "EnergyPlus auxiliary programs documentation, weather file format",
    "pvgis": "PVGIS, European Commission Joint Research Centre, © European Union",
    "met_eireann": "Irish meteorological service, degree days from daily extremes, cases I–IV",
    "staffell_2012": "Staffell, I. et al. 2012, A review of domestic heat pumps, Energy & Environmental Science 5: "
    "COP = 6.81 − 0.121 ΔT + 0.000630 ΔT², 15–60 K",
    "ruhnau_2019": "Ruhnau, O. et al. 2019, Time series of heat demand and heat pump efficiency, Scientific Data 6 "
    "(memory)",
    "asce_7": "ASCE 7, velocity pressure in SI with all factors 1",
    "interest": "Standard compound-interest definitions",
    "guide_energy_management": "Capehart, B. L., Turner, W. C., Kennedy, W. J., Guide to Energy Management",
    "guideline_14": "ASHRAE Guideline 14-2014, Annex B, savings uncertainty",
    "caltrack": "CalTRACK 2.0 methods, section 4.3",
    "iana": "IANA time zone database, through Python's zoneinfo and tzdata",
    "benson_krause_1984": "Benson, B. B., Krause, D. 1980/1984, oxygen in water at equilibrium with the atmosphere, "
    "APHA form",
    "emerson_1975": "Emerson, K., Russo, R. C., Lund, R. E., Thurston, R. V. 1975, Aqueous ammonia equilibrium "
    "calculations, J. Fish. Res. Board Can. 32",
    "invented_grid_mix": "editors' default, an invented round number for a mixed grid; enter your supplier's own "
    "figure",
    "openstax_physics": "OpenStax College Physics, chapters 7 and 20: what electricity costs",
    "trussell_1972": "Trussell, R. P. 1972, The percent un-ionized ammonia in aqueous ammonia solutions, J. Fish. Res. "
    "Board Can. 29 (reprinted values)",
    "ifas_fa16": "University of Florida IFAS, FA16, Ammonia, table 1 (calculated from emerson_1975)",
    "zhu_chen_2002": "Zhu, S., Chen, S. 2002, The impact of temperature on nitrification rate in fixed film "
    "biofilters, Aquacultural Engineering 26 (abstract read; authors, year and journal from memory)",
    "goolish_adelman_1984": "Goolish, E. M., Adelman, I. R. 1984, growth of juvenile common carp by temperature, "
    "Aquaculture 36 (title from memory)",
    "fao_carp": "FAO, common carp: mass production of eggs and early fry to fingerlings, training series (X0086E), The "
    "overwintering season (title from memory, chapter read)",
    "fao_affris_carp": "FAO, Aquaculture Feed and Fertilizer Resources Information System, common carp, growth",
    "desai_singh_2009": "Desai, A. S., Singh, R. K. 2009, The effects of water temperature and ration size on growth "
    "and body composition of fry of common carp, Journal of Thermal Biology (abstract read)",
    "iupac_weights": "IUPAC, standard atomic weights, abridged: nitrogen 14.007, hydrogen 1.008 (memory)",
    "hse_legionella": "UK Health and Safety Executive, legionella: grows between 20 and 45 °C",
    "cdc_legionella": "US Centers for Disease Control and Prevention, legionella: grows best between 25 and 45 °C",
    "cpsc_generators": "US Consumer Product Safety Commission, portable generators: outside, 20 feet from the house",
    "definition": "by definition",
    "practice": PRACTICE,
}


@dataclass(frozen=True)
class Constant:
    """A number that a formula uses, with its unit and the key of its source in `BIBLIOGRAPHY`."""

    value: float
    unit: str
    source: str
    note: str = ""

    def __post_init__(self):
        if self.source not in BIBLIOGRAPHY:
            raise KeyError(f"source {self.source!r} is not in the bibliography")


STEFAN_BOLTZMANN = Constant(5.670374419e-8, "W/m**2/K**4", "codata_2018")
ZERO_CELSIUS = Constant(273.15, "K", "definition")
STANDARD_PRESSURE = Constant(101_325.0, "Pa", "definition")
GRAVITY = Constant(9.80665, "m/s**2", "definition")
WATER_EMISSIVITY = Constant(0.95, "dimensionless", "fao_56", "0.95 to 0.97 in texts (memory)")
WATER_ALBEDO = Constant(0.08, "dimensionless", "fao_56", "open water 0.06 to 0.10 in texts (memory)")
PSYCHROMETRIC = Constant(0.665e-3, "1/K", "fao_56", "eq 8: γ = 0.665e-3 P; 0.61e-3 in other texts (Lewis number)")
MOLAR_RATIO = Constant(0.621945, "dimensionless", "ashrae_f01", "eq 20: molar mass of water over that of dry air")
DRY_AIR_GAS = Constant(287.042, "J/kg/K", "ashrae_f01", "eq 1")
DRY_AIR_HEAT = Constant(1006.0, "J/kg/K", "ashrae_f01", "eq 30: specific heat of dry air")
VAPOUR_HEAT = Constant(1860.0, "J/kg/K", "ashrae_f01", "eq 30: specific heat of water vapour")
EVAPORATION_HEAT = Constant(2.501e6, "J/kg", "ashrae_f01", "eq 30: heat to evaporate water at 0 °C")
EVAPORATION_HEAT_FALL = Constant(2361.0, "J/kg/K", "fao_56", "annex 3: by how much that falls for each kelvin")
VAPOUR_GAS = Constant(461.52, "J/kg/K", "vdi_2089", "gas constant of water vapour, as in the guideline's formula")
FUSION_HEAT = Constant(333_550.0, "J/kg", "iapws_95", "melting heat of ice at 0 °C")


def cite(key: str) -> str:
    """The full reference behind a key."""
    return BIBLIOGRAPHY[key]
