"""The engines on problems stated in JSON: one module per kind, each with `answer(case) -> dict`.

Problem files keep their own words (`unit_price_cents`, `stock_packs`) at this edge; inside, the engines' words hold.
"""
