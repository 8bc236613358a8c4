"""The price of an advertisement: amounts in any usual writing, and what kind of price it is."""

from __future__ import annotations

import re
from dataclasses import dataclass

from missionsim.study.inputs.advertisement.text import AdvertisementText

_AMOUNT = (r"(?P<cur>US\$|\$|USD|EUR|GBP|CAD|\u20ac|\u00a3)?\s*(?P<n>\d{1,3}(?:[,.']\d{3})+(?:\.\d\d)?|\d+(?:\.\d+)?)"
           r"\s*(?P<k>k|K|m|M|mil|million|thousand)?\b\s*(?P<cur2>USD|EUR|GBP|CAD|dollars|euros?|\u20ac|\u00a3|\$(?!\s?\d))?")
_CURRENCY = {"$": "USD", "us$": "USD", "usd": "USD", "dollars": "USD", "eur": "EUR", "euro": "EUR", "euros": "EUR",
             "\u20ac": "EUR", "gbp": "GBP", "\u00a3": "GBP", "cad": "CAD", "": "USD"}
_NO_PRICE = r"\b(?:P\.?O\.?A\.?|price\s*on\s*(?:application|request)|call\s*(?:for|about)\s*(?:the\s*)?price|inquire\s*for\s*price|price\s*TBD|contact\s*for\s*price)(?!\w)"
_OTHER_MONEY = re.compile(
    r"\bper\s*(?:hour|month|year|mo)|^\s*(?:/|an?\s|per\s)\s*(?:hr|hour|h|mo|month|year|yr|p\.?m)|^\s*(?:pm|pcm|p\.m)\b"
    r"|^\s*(?:in|of|worth|spent|invested|for|on)\s*(?:\w+\s*){0,3}(?:upgrade|avionics|panel|paint|work|annual|overhaul|mods|"
    r"receipts|engine|interior|parts|new)|^\s*(?:upgrade|spent|invested|worth|annual|overhaul|paint|panel|engine|deposit|avionics|new)")
_BEFORE_OTHER = re.compile(r"(?:apprais\w*|valued|value|spent|invested|over|cost|worth|deposit|dues|fund|reserve|budget|annual\s*(?:was|cost)|hourly|rate|wet|"
                           r"hangar|monthly|insurance|insured\s*(?:for|at))\W*(?:about|only|is|at|of)?\W*$")
_WAS = re.compile(r"(?:was|from|originally|previously|formerly|before|list(?:ed)?\s*at)\W*$")
_ASKS = re.compile(r"(?:ask(?:ing)?(?:\s*price)?|price(?:d)?|reduced(?:\s*to)?|now(?:\s*only)?|offered|to|firm|sell(?:ing)?\s*(?:for|at)|"
                   r"offers?\s*(?:over|above|around|near|from|in\s*excess\s*of)|for\s*sale|yours\s*for|buy\s*it|take)\W*(?:is|at|of|:|only|just|to|for)?\W*$")
_OFFERS_OVER = re.compile(r"offers?\s*over\W*$")
_OFFERS = re.compile(r"^\W*(?:obo|obro|ono|cbo|soh|firm|or\s*(?:best|near|trade|reasonable|nearest)|as[\s-]*is|neg|vb|\+\s*vat|plus\s*vat|reduced|"
                     r"ex\.?\s*vat|zzgl|no\s*trades|serious|cash|takes\s*it|!|$)")


@dataclass(frozen=True, slots=True)
class _Amount:
    match: re.Match[str]
    value: float
    currency: str
    weight: int
    short: bool = False
    """A sum in thousands without saying so: $149."""


def read_price(text: AdvertisementText) -> None:
    """Find the asking price, and set other sums of money aside."""
    _terms(text)
    _in_words(text)
    amounts = sorted((a for m in text.matches(_AMOUNT) if (a := _weighed(text, m)) is not None),
                     key=lambda a: (a.weight, a.match.start()), reverse=True)
    full = any(a.weight > 0 and not a.short for a in amounts)
    asked = [a for a in amounts if a.weight > 0 and not (a.short and full)]
    if asked and not text.has("prices.asking_price_usd"):
        _keep(text, asked)
    for amount in (a for a in amounts if a.weight <= 0 or (a.short and full)):
        text.take(amount.match, "other_money", f"{amount.value:,.0f} {amount.currency}", note="money, but not the price")
    for match in text.matches(_NO_PRICE):
        text.take(match, "price_on_request", True)


def _keep(text: AdvertisementText, asked: list[_Amount]) -> None:
    best = asked[0]
    others = [a for a in asked[1:] if a.value != best.value and a.weight == best.weight]
    note = "" if not others else "several sums stand as prices: " + ", ".join(f"{a.value:,.0f}" for a in asked)
    share = next((f for f in text.found if f.key == "share_for_sale"), None)
    if share is not None:
        text.take(best.match, "share_price", best.value, "said",
                  f"for a share of {share.value:.3g} in {best.currency}; not the price of the whole aircraft")
    elif best.currency != "USD":
        text.take(best.match, "price_other_currency", (best.value, best.currency), "said",
                  f"in {best.currency}: give the price in dollars")
    else:
        text.take(best.match, "prices.asking_price_usd", best.value, "unclear" if others else "said", note)
    for other in asked[1:]:
        text.take(other.match, "other_money", f"{other.value:,.0f} {other.currency}",
                  note="an earlier price" if other.weight < best.weight else "another sum that stands as a price")


def _weighed(text: AdvertisementText, match: re.Match[str]) -> _Amount | None:
    """Return an amount with how surely it is the price; None where it is no money at all."""
    digits = match["n"]
    value = float(digits.replace("'", "").replace(",", "") if re.fullmatch(r"\d{1,3}(?:[,']\d{3})+(?:\.\d\d)?|\d+(?:\.\d+)?", digits)
                  else digits.replace(".", ""))
    if re.fullmatch(r"\d{1,3}\.\d{3}", digits) and not match["k"]:
        value = float(digits.replace(".", ""))
    scale = {"k": 1e3, "thousand": 1e3, "m": 1e6, "mil": 1e6, "million": 1e6}.get((match["k"] or "").lower(), 1.0)
    value *= scale
    mark = (match["cur"] or match["cur2"] or "").lower()
    before, after = text.before(match.start(), 32), text.after(match.end(), 32)
    asks, offers = _ASKS.search(before), _OFFERS.match(after)
    alone = scale == 1e3 and value >= 10_000 and not (before + after).strip(" .")  # `67K.`, a clause by itself
    if not alone and offers and not offers[0].strip(" .") and match.end() < len(text.original.rstrip(" .!\n")):
        offers = None  # the end of a clause in the middle of the text says nothing
    if not mark and not (asks or (offers and (value >= 10_000 or scale > 1))):
        return None
    if not mark and scale == 1 and value < 5_000:
        return None
    if mark and value < 1_000 and scale == 1 and (asks or offers) and 10 <= value <= 999 and not _OTHER_MONEY.search(after):
        return None if "." in digits else _Amount(match, value * 1e3, _CURRENCY.get(mark, "USD"), 1, short=True)
    weight = 1 + 2 * bool(asks) + bool(offers and after.strip())
    if _OTHER_MONEY.search(after) or (_BEFORE_OTHER.search(before) and not _OFFERS_OVER.search(before)) or value < 3_000:
        weight = -1
    elif _WAS.search(before) and not re.search(r"reduced\s*$", before):
        weight = 1
    return _Amount(match, value, _CURRENCY.get(mark, "USD"), weight)


def _in_words(text: AdvertisementText) -> None:
    """Read `low 90s` and `mid 6 figures`."""
    thirds = {"low": (0.0, 1.5, 3.0), "mid": (4.0, 5.0, 6.0), "high": (7.0, 8.0, 9.5), "upper": (7.0, 8.0, 9.5)}
    for match in text.matches(r"\b(low|mid|high|upper)[-\s]*\$?(\d{2,3})'?s?k?\b(?=\W|$)(?:'?s)?"):
        if not re.search(r"'?s", match[0][-3:]) or text.after(match.end(), 12).strip().startswith(("hp", "kt", "comp")):
            continue
        base = float(match[2])
        spread = thirds[match[1].lower()]
        text.take(match, "asking_price_range", tuple(1e3 * (base + s) for s in spread), "read as", "a range of prices")
    for match in text.matches(r"\b(low|mid|high)[-\s]*(?:six|6)[-\s]*figures?\b"):
        low, high = {"low": (100e3, 300e3), "mid": (400e3, 600e3), "high": (700e3, 950e3)}[match[1].lower()]
        text.take(match, "asking_price_range", (low, (low + high) / 2, high), "read as", "a range of prices")


_SHARES = {"half": 0.5, "third": 1 / 3, "quarter": 0.25, "fifth": 0.2, "sixth": 1 / 6, "eighth": 0.125, "tenth": 0.1}


def _terms(text: AdvertisementText) -> None:
    """Set aside what is no figure of the aircraft: swaps, shares, taxes."""
    for match in text.matches(r"\b(?:or\s*)?(?:will\s*|would\s*|may\s*)?(?:consider\s*)?(?:trades?|swap)\s*(?:\?|up|down|in|for|welcome|considered|accepted|"
                              r"possible)[^.,;\n]*"):
        text.take(match, "terms", " ".join(match[0].split()))
    for match in text.matches(r"\bno\s*(?:trades?|brokers?|swaps?)\b[^.,;\n$]*|\bserious\s*(?:buyers|inquiries|inquires)\s*only\b|\b(?:text|calls?|email)s?\s*only\b"
                              r"|\b(?:pre-?buys?|PPI|inspections?)\s*(?:is\s*|are\s*)?(?:welcome|ok|encouraged|available)\b|\b(?:estate|must)\s*(?:sale|sell)\b"):
        text.take(match, "terms", " ".join(match[0].split()))
    for match in text.matches(rf"\b1\s*/\s*(?P<n>\d{{1,2}})\s*(?:th\s*)?(?:share|int(?:erest)?|ownership|partner(?:ship)?|of\b)|\b(?:one[-\s]*)?(?P<w>{'|'.join(_SHARES)})\s*"
                              r"(?:share|interest|partnership)\b|(?<![\w.,])(?P<p>\d{1,2}(?:\.\d+)?)\s*%\s*(?:share|interest|ownership|of\s*(?:this|my|our|an?)\b)|\b(?:share|interest)\s*(?:of\s*)?\(?1\s*/\s*(?P<n2>\d{1,2})\b\)?"):
        part = match["n"] or match["n2"]
        share = 1 / int(part) if part and int(part) else float(match["p"]) / 100 if match["p"] else _SHARES.get((match["w"] or "").lower(), 0.0)
        if 0.0 < share < 1.0:
            text.take(match, "share_for_sale", share)
    for match in text.matches(r"(?:\+|plus|excl?\.?|zzgl\.?|ex\.?)\s*(?:VAT|tax|MwSt\.?)|\bVAT\s*(?:paid|included|not\s*paid)"):
        paid = re.search("paid|included", match[0], re.IGNORECASE) and not re.search("not", match[0], re.IGNORECASE)
        text.take(match, "tax", "included" if paid else "to be added")
    for match in text.matches(r"\b(?:price\s*)?reduced\b(?=\s*(?:\$|to|from|!|\d|price|again|by))"):
        text.take(match, "terms", "reduced")


def _bare(text: AdvertisementText) -> None:
    """Read the one sum that nothing else claims, written as prices are, as the price."""
    told = ("prices.asking_price_usd", "share_price", "share_for_sale", "price_other_currency", "price_on_request", "asking_price_range")
    if any(text.has(key) for key in told):
        return
    sums = [m for m in text.matches(r"(?<![\w.,/$#-])(?P<n>\d{2,3},\d{3}|\d,\d{3},\d{3}|\d{2,3}(?:\.\d)?k)\b(?!\s*(?:[a-z]|[A-Z]{2,}\b(?<!OBO)(?<!FIRM)(?<!USD)))")
            if not re.search(r"[a-z]{3,}\s*(?:of|at|is|:)?\s*$", text.before(m.start()))]
    if len(sums) == 1:
        value = float(sums[0]["n"].lower().rstrip("k").replace(",", "")) * (1e3 if "k" in sums[0]["n"].lower() else 1.0)
        if 12_000 <= value <= 5_000_000 and value % 50 == 0:
            text.take(sums[0], "prices.asking_price_usd", value, "unclear", "a sum without a currency; read as the price")


def read_offers(text: AdvertisementText) -> None:
    """Read after the price: firm, or best offer, as is."""
    _bare(text)
    for match in text.matches(r"\b(?:OBO|OBRO|ONO|CBO|or\s*(?:best|near(?:est)?|reasonable)(?:\s*(?:reasonable\s*)?offer)?|negotiable|neg\.|VB|"
                              r"will\s*consider\s*SOH|SOH)\b"):
        if match[0].upper() != "SOH" or text.has("prices.asking_price_usd"):
            text.take(match, "negotiable", True)
    for match in text.matches(r"\bfirm\b"):
        text.take(match, "negotiable", False)
    for match in text.matches(r"\bas[-\s]*is\b"):
        text.take(match, "terms", "as is")
    for match in text.matches(r"\b(?:price\s*)?reduced\b"):
        text.take(match, "terms", "reduced")
