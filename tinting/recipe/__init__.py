"""Which dyes, drops and coats for a wanted colour: hands on recipes, the nearest first."""

from tinting.recipe.result import Recipe, Recipes
from tinting.recipe.search import find_recipes

__all__ = [
    "Recipe",
    "Recipes",
    "find_recipes",
]
