"""Ten goods at which a maker may get the law wrong, as their owner would first write them, without cautions.

Names, goods and texts are invented. What must be printed of each follows from its form, its ingredients and its age.
"""

from pathlib import Path
from typing import Final

TODAY: Final = "2027-03-15"
GOODS: Final = {
    "AG-01": (
        "Marsh Foam", "bubble bath", "12.00,2.80,250 ml,290 g,60 x 60 x 170 mm",
        "Aqua, SLES, Cocamidopropyl Betaine, Parfum, Limonene", "",
    ),
    "AG-02": (
        "Bramble Lane", "wax melts", "6.00,1.40,70 g,84 g,90 x 60 x 25 mm",
        "Soy Wax, Fragrance Oil", "",
    ),
    "AG-03": (
        "Marzipan Street", "almond scrub", "11.00,2.60,200 g,320 g,75 x 75 x 70 mm",
        "Sugar, Sweet Almond Oil, Lavender Essential Oil, Linalool", "",
    ),
    "AG-04": (
        "Pistachio Macaron", "soap", "5.50,1.20,60 g,66 g,50 x 50 x 35 mm",
        "Sodium Olivate, Sodium Cocoate, Aqua, Glycerin, Parfum, CI 19140", "",
    ),
    "AG-05": (
        "Puddle Duck", "bath bomb for children", "4.50,0.90,100 g,108 g,60 x 60 x 60 mm",
        "Sodium Bicarbonate, Citric Acid, Sodium Lauryl Sulfoacetate, Mica, CI 77492", "5 years",
    ),
    "AG-06": (
        "Cradle Song", "baby balm", "9.00,2.10,50 ml,74 g,66 x 66 x 28 mm",
        "Olea Europaea Fruit Oil, Cera Alba, Lavandula Angustifolia Oil, Linalool", "",
    ),
    "AG-07": (
        "Window Light", "candle in a box", "16.00,4.10,180 g,330 g,85 x 85 x 95 mm",
        "Soy Wax, Fragrance Oil", "",
    ),
    "AG-08": (
        "Rust & Copper", "henna powder", "8.00,1.60,100 g,112 g,120 x 90 x 20 mm",
        "Lawsonia Inermis Leaf Powder", "",
    ),
    "AG-09": (
        "Long Road", "peppermint foot balm", "8.50,1.90,50 ml,74 g,66 x 66 x 28 mm",
        "Shea Butter, Sunflower Oil, Peppermint Oil, Menthol, Limonene", "",
    ),
    "AG-10": (
        "Sun-Kissed", "body oil", "14.00,3.20,100 ml,190 g,45 x 45 x 140 mm",
        "Helianthus Annuus Seed Oil, Cocos Nucifera Oil, Parfum, Coumarin", "",
    ),
}  # fmt: skip
"""Name, form, what it costs and is made for with its net content, weight and sides, ingredients, from which age."""
SHOP: Final = """name = "Awkward & Daughter"
currency = "GBP"
language = "en-GB"
country = "{country}"
address = "Awkward & Daughter, 9 Slipway, Nether Fennow"
email = "hello@awkward.example"

[labels]
size = "140 x 120 mm"
sheet = "A4 landscape"
faces = 1
"""


def awkward_shop(folder: Path, *, country: str = "GB") -> Path:
    """Write a shop with a set of one piece for each of the goods, and return its folder."""
    rows = ["code,name,form,retail,cost,net,weight,size,on hand,ingredients,from age"]
    texts = {
        "shop.toml": SHOP.replace("{country}", country),
        "channels/own-shop.toml": 'name = "Own shop"\nmake = ["listings"]\nfee = "2 %"\ntext = "plain"\n',
        "packaging.toml": "",
    }
    for code, (name, form, figures, ingredients, age) in GOODS.items():
        rows.append(f'{code},{name},{form},{figures},20,"{ingredients}",{age}')
        path = f"sets/{code.lower()}/"
        texts[f"{path}set.toml"] = (
            f'code = "{code.replace("AG", "AGS")}"\nname = "{name}"\ntheme = "Made on the slipway."\nbox = "none"\n'
            f'[[contents]]\nitem = "{code}"\n'
        )
        texts[f"{path}story.md"] = "Made in a shed that the tide visits twice a year. You get {{ items }}.\n"
    texts["items.csv"] = "\n".join(rows) + "\n"
    for path, text in texts.items():
        file = folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return folder
