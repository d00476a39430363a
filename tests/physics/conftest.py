"""Makers of trailers, bags and rigs for the tests here."""

from tests.published.conftest import make_bag as make_bag
from tests.published.conftest import make_rig as make_rig
from tests.published.conftest import make_trailer as make_trailer
