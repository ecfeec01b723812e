"""The Streamlit page; it calls the library and holds no arithmetic."""
