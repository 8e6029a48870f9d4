"""Reference values of sun, vapour and evapotranspiration, by libraries that are not the program's.

Reads a list of questions on standard input, each with `what`, and answers each with a list of lists of numbers:

* sun: sunrise and sunset (seconds of the day on a clock `offset_h` ahead of UTC; the sun's centre at a zenith of 90.833
  degrees), hours between zenith 90 and zenith 90, and equation 34 of FAO 56 with the sun's declination at noon (astral);
* paper_sun: day length, radiation at the top of the air (pyet);
* wet_bulb: thermodynamic wet bulb (psychrolib);
* evapotranspiration: Makkink, Penman-Monteith with humidity, Penman-Monteith without, Hargreaves, and Hargreaves with one
  heat of evaporation for all temperatures (pyet).
"""

import datetime
import json
import math
import sys

import numpy as np
import pandas as pd
import psychrolib
import pyet
from astral import Observer, SunDirection
from astral.julian import julianday, julianday_to_juliancentury
from astral.sun import sun_declination, time_of_transit

KPA = 1000


def sun(places):
    answer = []
    for latitude, longitude, offset_h, date in places:
        date = datetime.date.fromisoformat(date)
        observer = Observer(latitude, longitude, 0)

        def second(zenith, direction):
            # The library's day is that of UTC, in which the morning of a place far east belongs to the day before.
            for shift in (0, -1, 1):
                asked = date + datetime.timedelta(days=shift)
                time = time_of_transit(observer, asked, zenith, direction, with_refraction=False)
                clock = time.replace(tzinfo=None) + datetime.timedelta(hours=offset_h)
                if clock.date() == date:
                    return (clock - datetime.datetime.combine(date, datetime.time())).total_seconds()
            raise ValueError(f"no {direction} on {date}")

        rise, set_ = (second(90.833, side) for side in (SunDirection.RISING, SunDirection.SETTING))
        level = second(90, SunDirection.SETTING) - second(90, SunDirection.RISING)
        noon = julianday(date) + 0.5 - longitude / 360
        declination = math.radians(sun_declination(julianday_to_juliancentury(noon)))
        angle = math.acos(-math.tan(math.radians(latitude)) * math.tan(declination))
        answer.append([rise, set_, level / 3600, 24 / math.pi * angle])
    return answer


def paper_sun(places):
    answer = []
    for latitude, _, _, date in places:
        index = pd.DatetimeIndex([date])
        radians = math.radians(latitude)
        answer.append(
            [
                np.asarray(pyet.meteo_utils.daylight_hours(index, radians)).item(),
                np.asarray(pyet.meteo_utils.extraterrestrial_r(index, radians)).item(),
            ]
        )
    return answer


def wet_bulb(airs):
    psychrolib.SetUnitSystem(psychrolib.SI)
    return [
        [psychrolib.GetTWetBulbFromRelHum(temperature, humidity / 100, pressure * KPA)]
        for temperature, humidity, pressure in airs
    ]


def evapotranspiration(record):
    index = pd.date_range(record["first"], periods=len(record["tmin_c"]))
    of = {name: pd.Series(np.array(record[name], dtype=float), index) for name in record["columns"]}
    tmin, tmax, tmean, rs = (of[name] for name in ("tmin_c", "tmax_c", "tmean_c", "radiation_mj_m2"))
    latitude, altitude = math.radians(record["latitude_deg"]), record["altitude_m"]
    middle = (tmin + tmax) / 2
    # FAO 56, equation 47.
    wind = of["wind_m_s"] * 4.87 / math.log(67.8 * record["anemometer_m"] - 5.42)
    shared = {"rs": rs, "elevation": altitude, "lat": latitude, "tmax": tmax, "tmin": tmin}
    hargreaves = pyet.hargreaves(middle, tmax, tmin, latitude)
    columns = [
        pyet.makkink_knmi(tmean, rs),
        pyet.pm_fao56(middle, wind, rh=of["rh_mean_pct"], **shared),
        pyet.pm_fao56(middle, wind, ea=pyet.meteo_utils.calc_e0(tmin), **shared),
        hargreaves,
        hargreaves * pyet.meteo_utils.calc_lambda(middle) * 0.408,
    ]
    return np.column_stack([column.to_numpy() for column in columns]).tolist()


if __name__ == "__main__":
    ANSWERS = {
        "sun": sun,
        "paper_sun": paper_sun,
        "wet_bulb": wet_bulb,
        "evapotranspiration": evapotranspiration,
    }
    json.dump([ANSWERS[question["what"]](question["of"]) for question in json.load(sys.stdin)], sys.stdout)
