"""The process in which a workbook that is no small one is read: it is given bytes and answers rows, as JSON.

Run within limits (`limited.py`) with one argument, what is wanted, as a JSON object. The workbook comes on stdin.
"""

import json
import sys

from listkit.problem import FieldError
from listkit.read.sheet import Wanted, sheets_as_json, sheets_here
from listkit.read.workbook_parts import WHOLE

if __name__ == "__main__":
    try:
        answer: object = sheets_as_json(sheets_here(sys.stdin.buffer.read(), Wanted(**json.loads(sys.argv[1])), WHOLE))
    except FieldError as fault:
        answer = {"fault": [fault.message, fault.hint]}
    sys.stdout.write(json.dumps(answer))
