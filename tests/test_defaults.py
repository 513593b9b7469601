"""The page of defaults says what the tables say."""

from __future__ import annotations

from typing import get_args

from provenance.inference.defaults import DEFAULTS
from provenance.inference.stock import PROFILES
from provenance.survey.model import EvidenceKind, Joints, Trade
from tests.generated_defaults import PAGE, defaults_text


def test_the_page_of_defaults_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == defaults_text()


def test_the_model_has_a_number_for_every_choice_of_a_survey() -> None:
    assert set(DEFAULTS.reliability) == set(get_args(EvidenceKind))
    assert {profile.name for profile in PROFILES} == set(get_args(Trade))
    assert set(DEFAULTS.joints) == set(get_args(Joints)) - {"unclear"}
