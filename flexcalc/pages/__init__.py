"""The pages: ask, compute, show. The only modules of flexcalc that import Streamlit."""
