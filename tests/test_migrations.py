"""Migrations: complete, so that a fresh database is what the models say."""

import pytest
from django.core.management import call_command


@pytest.mark.django_db
def test_no_change_of_a_model_waits_for_a_migration():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)
