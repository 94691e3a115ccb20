"""Every example in a docstring of the core gives what it says."""

import doctest
import importlib
import pkgutil

import pytest

import scheduler

MODULES = sorted(module.name for module in pkgutil.walk_packages(scheduler.__path__, "scheduler."))
AT_LEAST = 35  # functions with an example: the main ones


def examples(name):
    """The docstrings of one module that have examples."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    return [each for each in finder.find(importlib.import_module(name)) if each.examples]


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_give_what_they_say(name):
    runner = doctest.DocTestRunner()
    for each in examples(name):
        runner.run(each)
    assert runner.failures == 0


def test_the_main_functions_have_an_example():
    assert sum(len(examples(name)) for name in MODULES) >= AT_LEAST
