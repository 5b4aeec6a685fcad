"""What anybody's files may cost, in one place: each reader keeps its own wall and takes the wall's figure from here.

A shop folder, a template, a picture or a workbook may come from a stranger. Every figure is far above what owners
have and low enough that one command stays within 10 s and 1 GB for any bytes in any file. Sizes are in bytes, texts in
characters, unless said otherwise.
"""

from typing import Final

# Texts: read/source, read/parts, read/templates, read/folder
TOML_BYTES: Final = 2_000_000
TOML_WHOLE: Final = 6_000_000  # of a whole shop; three hundred sets have 1 million
TOML_TOGETHER: Final = 250_000  # values of a whole shop, as TOML_VALUES counts them; three hundred sets have 30,000
TEXT_BYTES: Final = 20_000_000
STORY: Final = 1_000_000
STORIES_WHOLE: Final = 6_000_000  # of a whole shop; three hundred sets in two languages have 2 million
TEMPLATE_FILE: Final = 1_000_000
TEMPLATE_FILES: Final = 2_000
TEMPLATES_TOGETHER: Final = 50_000_000  # ours have 1 million
TEMPLATE_FOLDERS_DEEP: Final = 4

# Near misses, faults: read/wording, read/references, read/table_file, read/shop, check/cautions, ingredients, pipeline
NEAR_CODES: Final = 300  # codes of the same letters and numbers that a wrong one is compared with
NEAR_ALIKE: Final = 2_000  # codes with the same numbers, and words, among which the one that is meant is looked for
NEAR_WORDS: Final = 100_000  # names that wrong ones of one list are compared with, all together
NEAR_MISSES: Final = 1_000  # wrong codes of one set or table for which another is looked for
NEAR_FORMS: Final = 5_000  # different forms that are looked at for a slip of the pen
NEAR_NAMES: Final = 5_000  # different ingredients that are looked at for a slip of the pen
NEAR_COMPARED: Final = 300_000  # codes that wrong ones of one file are compared with, all together
STAND_INS: Final = 2_000  # for items that sets name and nobody has, to tell what else is wrong with the sets
ROWS_FITTED: Final = 100  # of one table, in which the cell that is missing is looked for at every place
FAULTY_ROWS: Final = 2_000  # of one table that are told one by one; the rest are counted

# Near misses of headings and fields: listing/columns
NEAR_HEADINGS: Final = 3_000  # headings and fields that wrong ones of one channel are compared with, all together

# Near misses of unknown codes: in a sheet of what moved, actions/stock; in a form of a shop, check/orders
SHEET_COMPARED: Final = 300_000  # codes that all of a sheet are compared with
FORM_COMPARED: Final = 300_000  # lines of the sheet that all of a form are compared with

# Faults behind others: check/hidden
FAULTS_MENDED: Final = 2_000  # of a shop, beyond which what they hide is not looked for; that reads it twice more
ITEMS_MENDED: Final = 3_000  # of a shop, beyond which it is not looked for either; it is done five times at most
LISTS_MENDED: Final = 1_000_000  # letters of all lists of ingredients, beyond which it is not looked for either

# Tables of a shop: read/table_file, read/sheet
THING_ROWS: Final = 10_000  # of items, shops, postage, materials, a plan; a shop has some hundred of each
PART_ROWS: Final = 30_000  # of recipes and percentages, a dozen for each item
TABLE_LETTERS: Final = 2_000_000  # of all cells; 200 a row

# What came and went, a line each: read/movements
MOVED: Final = 999_999_999  # pieces of one line, those of all rows of a sheet added up
MOVE_LINES: Final = 400_000  # a hundred a day for eleven years
FAULTY_MOVES: Final = 2_000  # lines that cannot be read, beyond which it is no such file

# Pieces shared out, a row for each place and code: read/allotment
ALLOTTED_ROWS: Final = 300_000  # more than there may be variants

# Wishes for places, each counted for every code at every place that it is about: actions/allot
CLAIMS: Final = 4_000  # two wishes for each of four hundred codes at five places

# Recipes: read/making
MIXTURES_DEEP: Final = 50  # within each other; owners have one or two
RECIPE_PARTS: Final = 300_000  # of all recipes, each mixture parted into what is in it; a dozen or two for each item

# Days on which nobody works: model/making; what they move: compute/plan
CLOSED_DAYS: Final = 1_000  # a hundred a year for ten years
CLOSED_MOVES: Final = 20_000  # pourings that are looked at for where closed days move them

# Rows of the plan, one of a set counted for each variant; pieces of theirs, each for each of its days: compute/plan
PLANNED: Final = 100_000

# Parcels that no service takes, each told of for each zone of rates.csv, beyond which zones are left: check/measures
UNTAKEN: Final = 1_000_000  # a thousand variants in each of a thousand zones

# What a set holds, fixed pieces and slots: model/gift_set
CONTENTS: Final = 500  # a dozen; with as many pieces of each

# What a shop states by hand, held against all its items or sets: model/settings, packaging, wholesale, allotment
BANDS: Final = 100  # ceilings that gift buyers shop by
SEASONS: Final = 500  # four a year for a hundred years
KINDS_OF_BOX: Final = 500  # and cartons for shops
BOX_LABELS: Final = 500  # of another size for one kind of box
TIERS: Final = 50  # lower prices from a quantity on; two to four
ACCEPTED: Final = 1_000  # remarks
CHECKS: Final = 500  # lines under [checks]; there are some 200 codes
FORMS: Final = 500  # whose goods are made in one way; a shop has a dozen
OWN_ALLERGENS: Final = 500  # beside ours, which are 80
EVIDENCE: Final = 500  # documents for claims, which are held against every claim that is found
SILENCED: Final = 500  # cautions that are not printed; there are some 40
WISHES: Final = 200  # for places; one or two for each

# Lower prices for a time, of the shop and of each set: model/reduction
REDUCTIONS: Final = 500  # one a week for ten years

# Messages that are shown at once, the rest counted: present/problems
SHOWN_OF_KIND: Final = 200  # of one code and level
SHOWN: Final = 300  # of all together

# Codes that variants had before, by old codes of sets and of what may be chosen: model/codes
OLD_VARIANTS: Final = 250_000  # four for each of the variants that there may be

# Folders of sets, files of channels: read/parts
SETS: Final = 2_000  # a new one each week for forty years
PLACES: Final = 300  # files of channels; what they list is bounded by AT_PLACES

# Choices: read/references
VARIANTS: Final = 60_000  # of all sets together, every option with every other; nine options five times over

# What is listed: read/parts
AT_PLACES: Final = 500_000  # variants at all places, each listing as twenty of them; fifty places of 300 sets of twelve

# TOML documents: bounded_toml
TOML_DOTS: Final = 2_000_000  # of all lines, each squared: a parser keeps every beginning of a dotted key
TOML_HEADER_DOTS: Final = 100
TOML_VALUES: Final = 250_000  # commas, signs of equality and brackets; our longest table of claims has 5,000
TOML_DEEP: Final = 100  # tables and lists within each other
TOML_BITS: Final = 10_000  # of a whole number; Python writes none of more than 4,300 digits

# Workbooks: read/sheet, read/workbook_parts, read/workbook_worker
UNPACKED_BYTES: Final = 200_000_000
WORKBOOK_PARTS: Final = 5_000
WORKBOOK_CELLS: Final = 1_000_000  # of the rectangle up to the last one
WORKBOOK_LETTERS: Final = 50_000_000  # of all cells, a shared text counted as often as it is named
WORKBOOK_SMALL_BYTES: Final = 1_500_000  # unpacked: what is larger in one of these is read in a process of its own
WORKBOOK_SMALL_CELLS: Final = 60_000
WORKBOOK_SMALL_LETTERS: Final = 3_000_000
WORKBOOK_MEMORY: Final = 700_000_000  # of that process
WORKBOOK_SECONDS: Final = 8  # of the processor
WORKBOOK_PATIENCE: Final = 120  # seconds, however busy the machine is
WORKBOOK_SPACES: Final = 10_000  # that one mark of an .ods stands for
TABLE_ROWS: Final = 100_000  # of a table of any kind
TABLE_COLUMNS: Final = 500

# A place's sample: learn/dialect
SAMPLE_COLUMNS: Final = 500

# A channel's export: read/export_file
EXPORT_BYTES: Final = 50_000_000  # 10,000 rows of 24 columns have 5 million
EXPORT_ROWS: Final = 400_000
EXPORT_COLUMNS: Final = 1_000  # a channel's table has up to some 100
EXPORT_CELL: Final = 2_000_000  # our longest text has a quarter of it
EXPORT_JSON_BYTES: Final = 50_000_000  # which is held as a whole
EXPORT_JSON_VALUES: Final = 4_000_000  # lists, objects, commas and colons
EXPORT_HEADER_BYTES: Final = 1_000_000
EXPORT_DEEP: Final = 40  # JSON within JSON

# What differs in one: ledger/compare
EXPORT_DIFFERENCES: Final = 2_000_000

# Pictures: picture/open, picture/structure, picture/credit
PICTURE_PIXELS: Final = 80_000_000
PICTURE_BYTES: Final = 300_000_000
JPEG_BYTES: Final = 150_000_000  # a decoder goes through some 30 million of them in a second
JPEG_SCANS: Final = 100  # common programs write 10; each pass goes through all pixels, however few bytes it has
PICTURE_PARTS: Final = 200_000  # segments, chunks, tags; a PNG is written in parts of 8 kB
PICTURE_FRAMES: Final = 5_000  # of a TIFF
PICTURE_TILE: Final = 80_000_000  # pixels of a TIFF that are unpacked at once
PICTURE_NOTES: Final = 20_000_000  # all that is no pixel
PICTURE_PROFILE: Final = 4_000_000  # of colours; those for printing have up to 3 million
PICTURE_CREDIT: Final = 1_000_000  # XMP in which a credit is looked for; a packet of a JPEG has up to 65 thousand
PICTURES_AT_ONCE: Final = 800_000_000  # bytes of all pictures that are being worked on, as they are in memory

# Templates: listing/template_rules before they run, listing/templates and template_values while they run
TEMPLATE: Final = 100_000
PLACEHOLDER_WORDS: Final = 200  # words and signs between one {{ or {% and its end
NUMBER_DIGITS: Final = 16
BLOCKS_DEEP: Final = 10  # {% if %} and {% for %} within each other
BRACKETS_DEEP: Final = 10
LOOPS_DEEP: Final = 3
BRANCHES: Final = 50  # {% elif %} in one {% if %}
EXPRESSION_DEEP: Final = 40
LOOP_TURNS: Final = 200_000  # of all loops of one render
RENDERED: Final = 500_000
RENDER_STEPS: Final = 20_000_000  # about a tenth of a microsecond each
JOINED: Final = 500_000
LARGEST_NUMBER: Final = 10**15  # far above any price, far below what takes time

# Markdown: listing/markdown
MARKDOWN: Final = 200_000

# Printing, in a process of its own: write/print
PRINT_SECONDS: Final = 10  # of all processors together; 500 labels take 2
PRINT_PATIENCE: Final = 120  # seconds, however busy the machine is
PRINT_BYTES: Final = 1_000_000_000  # of memory; 500 labels take 370 million

# What is printed when it is asked for: read/asked_tables
COPIES: Final = 10_000  # labels or cards at once

# Claims tables, texts that they are held against: check/claims_table, claims_match, claims_index
CLAIM_PHRASES: Final = 20_000  # of one table, alternatives multiplied out
CLAIM_WORDS: Final = 200_000  # of all of them; the English table has 41,000
CLAIM_LONG: Final = 40  # words of one phrase as it is written
CLAIM_OPTIONS: Final = 50_000  # alternatives of all places in phrases, a list counted wherever it is named
CLAIM_ENDS: Final = 500_000  # words in which all of them can end; the English table has 130,000
CLAIM_PARTS: Final = 300  # beginnings and ends of words at one place of a phrase
CLAIM_STEPS: Final = 500_000  # walks along phrases in all texts of a shop, besides those of each word
CLAIM_STEPS_A_WORD: Final = 10  # stories of owners take 2 to 5
CLAIM_SENTENCE: Final = 300  # words, beyond which it is taken for two
CLAIM_WORDS_BETWEEN: Final = 4  # that ".." may stand for
CLAIM_WORDS_APART: Final = 7  # between the two halves of a phrase that come in either order

# The ledger, with what lies beside it; all lines that are read at once are no longer together: ledger/journal
LEDGER_BYTES: Final = 1_000_000_000

# A line of the ledger, its long texts in their places: ledger/lines
LEDGER_LINE: Final = 50_000_000

# The numbers of its records, and the codes in force at one place: ledger/store
LEDGER_RECORDS: Final = 100_000  # ten a day for 27 years
LEDGER_CODES: Final = 300_000  # all variants that a shop may have, and its sets

# What is dropped on a page of the desk, of one request: desk/guard
UPLOAD_BYTES: Final = 300_000_000

# What a form of the desk may hold: desk/sent
FORM_BYTES: Final = 10_000_000  # of text, beside any files; 4 MB of "&" take a second
FORM_FILES: Final = 200
FORM_FILE_IN_MEMORY: Final = 64_000  # of each file while the form is read, the rest is on the disk
FORM_FREE: Final = 250_000  # of each form, taken however many come at a time
FORMS_AT_ONCE: Final = 40_000_000  # of what is in memory of all forms beyond that; text may take four times its bytes
FORM_FIELDS: Final = 20_000
FIELD_BYTES: Final = 2_000_000
DROPPED_BYTES: Final = 60_000_000  # of a table, which is read whole
REQUEST_DIGITS: Final = 9  # of a number in an address or a button

# Tables that were dropped and wait to be looked at: desk/shops
WAITING_BYTES: Final = 100_000_000

# A page of the proof, which the desk puts its own lines into: desk/publish
PROOF_BYTES: Final = 50_000_000  # a hundred times the demo's; a larger one is shown as it is

# Connections of the desk, most of which are nobody's: desk/connections
CONNECTIONS: Final = 150  # with 32 about to come fewer than the 256 files that some systems give a process
HEAD_SECONDS: Final = 10
BODY_SECONDS: Final = 60  # for each further piece of a body
BODY_PIECE: Final = 64_000  # bytes

# A file that is read whole to see whose it is: save/out_folder; a stranger's may have any size
MADE_BYTES: Final = 4_000_000_000  # of an output; a processor digests that in 2 to 4 seconds
KEPT_BYTES: Final = 300_000_000  # of one that is held in memory: a picture is the largest of a shop

# What a build remembers, of one file: save/out_folder
MEMORY_BYTES: Final = 100_000_000
MEMORY_VALUES: Final = 6_000_000  # lists, objects, commas, colons; a manifest names each variant in some fifteen files

# Files that memory and journal name: save/made
MADE_FILES: Final = 150_000

# The past of a shop's files: edit/past, past_lines
PAST_BYTES: Final = 100_000_000
PAST_LINES: Final = 100_000
PAST_NUMBER: Final = 999_999_999  # of changes, and of the bytes of a file

# Sets that are proposed, of items each put to each, and variants worked out as any set's are: compute/proposals
PUT_TOGETHER: Final = 100  # items; more are left out, those with the least to speak for them
PROMISING: Final = 2_000  # of sixty items some hundred
