"""The pages: ask, compute, show. The only modules of tinting that import Streamlit."""
