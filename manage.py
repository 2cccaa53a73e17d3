#!/usr/bin/env python
"""The service's command line."""

import atexit
import gc
import os
import sys

from django.core.management import execute_from_command_line

from config.switches import SwitchRefused

if __name__ == "__main__":
    atexit.register(gc.freeze)  # to look through all there is once more takes a fifth of a short command
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        execute_from_command_line(sys.argv)
    except SwitchRefused as fault:
        sys.exit(str(fault))
