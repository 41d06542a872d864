"""Columns of the user's that say in which country or region a site is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from siteplan.arrays import TextArray
from siteplan.inputs.files.cells import as_texts, unknown_mask
from siteplan.inputs.files.rawtable import Table
from siteplan.inputs.headings import plain_heading

#: Headings that name a country, in the usual languages; the surest first.
COUNTRIES = (
    *("country", "country_name", "country_code", "countrycode", "adm0_name", "adm0_en", "admin0"),
    *("iso", "iso2", "iso3", "iso_a2", "iso_a3", "iso_code", "iso_country", "nation"),
    *("país", "pais", "pays", "land", "staat", "nazione", "paese", "ülke", "ulke", "państwo"),
    *("panstwo", "kraj", "страна", "государство", "negara", "دولة", "الدولة", "البلد", "بلد"),
    *("国家", "國家", "国", "國"),
)
#: Headings that name a region of a country, the largest kind first.
REGIONS = (
    *("region", "region_name", "province", "state", "state_province", "governorate", "prefecture"),
    *("county", "district", "department", "oblast", "canton", "adm1_name", "adm1_en", "admin1"),
    *("admin1_name", "adm2_name", "adm2_en", "admin2", "región", "provincia", "departamento"),
    *("estado", "comunidad_autónoma", "região", "regiao", "distrito", "région", "département"),
    *("departement", "bundesland", "landkreis", "regione", "il", "bölge", "województwo"),
    *("wojewodztwo", "powiat", "область", "регион", "край", "район", "provinsi", "kabupaten"),
    *(
        "محافظة",
        "المحافظة",
        "منطقة",
        "المنطقة",
        "ولاية",
        "الولاية",
        "省",
        "省份",
        "地区",
        "都道府県",
    ),
)


def label_headings(headings: Sequence[str]) -> tuple[str, str]:
    """Return which columns hold the country and the region of a site, '' for none.

    >>> label_headings(["site_id", "lat", "lon", "País", "Provincia"])
    ('País', 'Provincia')
    """
    plains = {plain_heading(heading): heading for heading in reversed(headings)}
    country, region = (
        next((plains[name] for name in names if name in plains), "")
        for names in (COUNTRIES, REGIONS)
    )
    return country, region


@dataclass
class Labels:
    """The country and the region of each row, chunk by chunk, where columns tell them."""

    country: list[TextArray] = field(default_factory=list)
    region: list[TextArray] = field(default_factory=list)

    def add(self, table: Table) -> None:
        """Take a chunk."""
        country, region = label_headings(list(table.columns))
        if country:
            self.country.append(_labels(table, country))
        if region:
            self.region.append(_labels(table, region))

    def all(self) -> tuple[TextArray | None, TextArray | None]:
        """Return country and region of all rows (n,), None where no column tells them.

        A region is told with its country: two countries may each have an East.
        """
        country = np.concatenate(self.country) if self.country else None
        region = np.concatenate(self.region) if self.region else None
        if country is not None and region is not None:
            region = np.where(region == "", "", country + "/" + region)
        return country, region


def _labels(table: Table, heading: str) -> TextArray:
    texts = as_texts(table.columns[heading])
    return np.where(unknown_mask(texts), "", texts)
