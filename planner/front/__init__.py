"""The app in the browser: the only folder of the package that imports streamlit."""
