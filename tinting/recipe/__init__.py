"""Which dyes, drops and coats for a wanted colour: hands on recipes, the surest first,
and the way on after a coat."""

from tinting.recipe.result import Recipe, Recipes
from tinting.recipe.search import find_recipes
from tinting.recipe.steer import Steering, steer

__all__ = [
    "Recipe",
    "Recipes",
    "Steering",
    "find_recipes",
    "steer",
]
