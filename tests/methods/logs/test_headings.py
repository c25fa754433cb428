"""What header cells say: parameters in several languages, units in any notation."""

from __future__ import annotations

import pytest

from methods.logs.words.unit_spellings import read_unit
from methods.logs.words.vocabulary import heading, is_time_of_reading
from methods.quantities.substances import SUBSTANCES


@pytest.mark.parametrize(
    ("text", "parameter", "unit"),
    [
        ("HCHO (ppm)", "formaldehyde", "ppm"),
        ("CH2O [mg/m³]", "formaldehyde", "mg/m³"),
        ("Formaldehyd µg/m3", "formaldehyde", "µg/m³"),
        ("Formaldéhyde (ug/m3)", "formaldehyde", "µg/m³"),
        ("formaldehyde_ug_m3", "formaldehyde", "µg/m³"),
        ("HCHO / mg m-3", "formaldehyde", "mg/m³"),
        ("甲醛 (mg/m³)", "formaldehyde", "mg/m³"),
        ("co2_ppm", "co2", "ppm"),
        ("CO₂, ppm", "co2", "ppm"),
        ("Carbon dioxide", "co2", None),
        ("Kohlendioxid [ppm]", "co2", "ppm"),
        ("CO2 [Vol.-%]", "co2", "%"),
        ("Room 3 CO2 level (ppm)", "co2", "ppm"),
        ("CO (ppm)", "co", "ppm"),
        ("NO2 ppb", "no2", "ppb"),
        ("Ozon (µg/m³)", "o3", "µg/m³"),
        ("TVOC/ppb", "tvoc", "ppb"),
        ("PM2.5 (µg/m³)", "pm25", "µg/m³"),
        ("pm2_5", "pm25", None),
        ("PM 10 ug/m3", "pm10", "µg/m³"),
        ("Benzol µg/m³", "benzene", "µg/m³"),
        ("Radon (Bq/m3)", "radon", "Bq/m³"),
        ("Temp [°C]", "temperature", "°C"),
        ("temp_c", "temperature", "°C"),
        ("Air temp. (degF)", "temperature", "°F"),
        ("Raumlufttemperatur °C", "temperature", "°C"),
        ("T", "temperature", None),
        ("°C", "temperature", "°C"),
        ("RH %", "humidity", "%RH"),
        ("rel. Luftfeuchte [%]", "humidity", "%RH"),
        ("% r.F.", "humidity", "%RH"),
        ("Relative Humidity", "humidity", "%RH"),
        ("Humidité (%)", "humidity", "%RH"),
        ("Feuchtigkeit (%)", "humidity", "%RH"),
        ("Hygrométrie (%)", "humidity", "%RH"),
    ],
)
def test_a_parameter_and_its_unit(text: str, parameter: str, unit: str | None) -> None:
    found = heading(text)
    assert (found.parameter, found.unit, found.other) == (parameter, unit, False)
    assert unit is None or unit in SUBSTANCES[parameter].units


FACTORS = ("HCHO ppb (x1000)", "HCHO (ppm) x100", "HCHO (ppm) [10^-3]", "HCHO (ppm) [10⁻³]", "HCHO [ppm] 10-3",
           "HCHO ×0.001 ppm", "HCHO (ppm) /10", "HCHO (ppm) 1E-3")  # fmt: skip
TWO_UNITS = ("HCHO [mg/m³] (ppb)", "HCHO ppm (ppb)", "HCHO ppm mg/m3", "HCHO (µg/m³) [mg/m³]")


@pytest.mark.parametrize("text", [*FACTORS, *TWO_UNITS])
def test_a_factor_or_a_second_unit_leaves_the_unit_open(text: str) -> None:
    found = heading(text)
    assert (found.parameter, found.unit, found.unclear) == ("formaldehyde", None, True)


@pytest.mark.parametrize(
    "text", ["PM10 (µg/m³)", "PM 10-2.5 µg/m3", "RH [%] (%RH)", "CO2 ppm (ppm)", "Temp_c [°C]", "CO2 x 2"]
)
def test_what_is_no_factor(text: str) -> None:
    assert not heading(text).unclear


@pytest.mark.parametrize(
    "text",
    [
        "Dew point (°C)",
        "Battery (V)",
        "board temp",
        "CO2 alarm",
        "Pressure (hPa)",
        "Air flow",
        "Serial",
        "Absolute humidity",
    ],
)
def test_what_is_no_reading_of_ours(text: str) -> None:
    assert heading(text).other


@pytest.mark.parametrize("text", ["CO2 temperature", "Temp/RH", "Channel 1", "Value", "xyz", "no", "Note"])
def test_a_name_that_does_not_settle_it(text: str) -> None:
    assert heading(text).parameter is None


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("Date/Time", "stamp"),
        ("timestamp_utc", "stamp"),
        ("Datum", "date"),
        ("Uhrzeit", "time"),
        ("Fecha hora", "stamp"),
        ("CO2", ""),
    ],
)
def test_words_of_time(text: str, word: str) -> None:
    assert heading(text).time_word == word


@pytest.mark.parametrize("text", ["", "-", "hh:mm", "abc", "C", "%" * 50, "1/s", "km/h"])
def test_what_is_no_unit(text: str) -> None:
    assert read_unit(text) is None


#: From memory, a native reader's word for the time of a reading in each.
STAMPS = (
    "Marca de tiempo; Marca temporal; Fecha y hora; Messzeitpunkt; Zeitmarke; Zeitstempel; Datum/Uhrzeit; Horodatage; "
    "Date et heure; Tijdstip; Datum en tijd; Tidpunkt; Tidsstämpel; Datum och tid; Tidspunkt; Dato og klokkeslæt; "
    "Carimbo de data; Carimbo de data/hora; Data e hora; Data e ora; Marca oraria; Ajankohta; Aikaleima; "
    "Päivämäärä ja aika; Data i godzina; Znacznik czasu; Datum a čas; Časové razítko; Dátum a čas; Datum i vrijeme; "
    "Dátum és idő; Időbélyeg; Dată și oră; Tarih ve saat; Zaman damgası; Ημερομηνία και ώρα; Дата и время; "
    "Метка времени; Дата та час; 时间戳; 日期时间; 測定日時; 日付時刻; タイムスタンプ; 日期時間; 측정일시; 날짜 시간"
)
TIMES = "Czas pomiaru; Godzina; Aika; Vrijeme; Idő; Saat; Ώρα; Час; Время измерения; 测量时间; 時間; 시간; Klokkeslæt"


@pytest.mark.parametrize(("names", "word"), [(STAMPS, "stamp"), (TIMES, "time")])
def test_the_time_of_a_reading_in_many_languages(names: str, word: str) -> None:
    assert [name for name in names.split("; ") if heading(name).time_word != word] == []


@pytest.mark.parametrize("name", ["CAS", "CAS No", "Marca", "Marca del sensor", "Moment (Nm)", "Znacznik"])
def test_what_names_no_time(name: str) -> None:
    assert heading(name).time_word == ""


@pytest.mark.parametrize("name", ["Date de mesure", "Fecha de medición", "Data di misura", "Data pomiaru", "Date"])
def test_a_date_that_is_that_of_the_reading(name: str) -> None:
    assert is_time_of_reading(name)
    assert not is_time_of_reading(f"{name} calibration")


#: Words of the trade, from memory: humidity, temperature, carbon dioxide, formaldehyde, pressure, dew point.
PLAIN_NAMES = {
    "ko": "습도 온도 이산화탄소 폼알데하이드 기압 이슬점",
    "hu": "Páratartalom Hőmérséklet Szén-dioxid Formaldehid Légnyomás Harmatpont_hőmérséklet",
    "cs": "Relativní_vlhkost Teplota_vzduchu Oxid_uhličitý Formaldehyd Tlak Teplota_rosného_bodu",
    "sk": "Vlhkosť Teplota Oxid_uhličitý Formaldehyd Tlak Teplota_rosného_bodu",
    "pl": "Wilgotność_względna Temperatura Dwutlenek_węgla Formaldehyd Ciśnienie Temperatura_punktu_rosy",
    "ru": "Влажность Температура_воздуха Углекислый_газ Формальдегид Давление Температура_точки_росы",
    "uk": "Вологість Температура Вуглекислий_газ Формальдегід Тиск Температура_точки_роси",
    "ro": "Umiditate Temperatură Dioxid_de_carbon Formaldehidă Presiune Temperatura_punctului_de_rouă",
    "bg": "Относителна_влажност Температура Въглероден_диоксид Формалдехид Налягане Температура_на_оросяване",
    "el": "Υγρασία Θερμοκρασία Διοξείδιο_του_άνθρακα Φορμαλδεΰδη Πίεση Θερμοκρασία_δρόσου",
    "tr": "Bağıl_Nem SICAKLIK Karbondioksit Formaldehit Basınç Çiy_noktası_sıcaklığı",
    "fi": "Suhteellinen_kosteus Lämpötila Hiilidioksidi Formaldehydi Ilmanpaine Kastepiste",
    "sv": "Relativ_fuktighet Lufttemperatur Koldioxid Formaldehyd Lufttryck Daggpunktstemperatur",
    "da": "Luftfugtighed Temperatur Kuldioxid Formaldehyd Lufttryk Dugpunktstemperatur",
    "no": "Luftfuktighet Temperatur Karbondioksid Formaldehyd Lufttrykk Duggpunktstemperatur",
    "zh": "湿度 室内温度 二氧化碳 甲醛 气压 露点温度",
    "ja": "相対湿度 温度 二酸化炭素 ホルムアルデヒド 気圧 露点温度",
}  # fmt: skip


@pytest.mark.parametrize("language", PLAIN_NAMES)
def test_plain_names_in_more_languages(language: str) -> None:
    spoken = [heading(name.replace("_", " ")) for name in PLAIN_NAMES[language].split()]
    assert [said.parameter for said in spoken[:4]] == ["humidity", "temperature", "co2", "formaldehyde"]
    assert [said.other for said in spoken] == [False] * 4 + [True] * 2


@pytest.mark.parametrize(("name", "code"), [("초미세먼지", "pm25"), ("细颗粒物", "pm25"), ("Fijnstof 2,5", "pm25")])
def test_particles_in_more_languages(name: str, code: str) -> None:
    assert heading(name).parameter == code


@pytest.mark.parametrize(
    "name",
    [
        "Wilgotność bezwzględna",
        "Absolutní vlhkost",
        "Абсолютная влажность",
        "절대습도",
        "Povrchová teplota",
        "Mutlak nem",
    ],
)
def test_other_humidities_and_temperatures_are_none_of_ours(name: str) -> None:
    said = heading(name)
    assert said.other or said.parameter is None
